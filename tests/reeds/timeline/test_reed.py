"""One reed's page: its life as one timeline, and the steps, clips and ends noted from it."""

from __future__ import annotations

import datetime as dt
import uuid
import zoneinfo

import pytest
from django.utils import timezone
from django.utils.safestring import mark_safe

from reeds.numbers.measured import Measured
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Method, Stage
from reeds.reed import actions
from reeds.reed.actions import Entry
from reeds.reed.facts import RowsOf
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import EventKind, Reed
from reeds.sheet.actions import sheet as sheet_actions
from reeds.sheet.models.pattern import Pattern
from reeds.sheet.starters import STARTERS
from reeds.timeline.pages import _SOURCES, Moment, register_moments
from studio.errors import NotPossible
from studio.models import Member
from tests import factories as make
from tests.reeds.form import fields_of

ACTIONS = ("numbers", "step", "clip", "strokes", "life", "give_up", "made_of", "move_sheet", "take_out")
DAY = dt.timedelta(days=1)
ZONE = zoneinfo.ZoneInfo("Europe/Berlin")  # a studio's unless it says otherwise


def a_reed(owner: Member, stage: str = "tied", days_ago: int = 10, **given: object) -> Reed:
    sheet_actions.ready_for(owner)
    version = Pattern.objects.get(studio=owner.studio, style="short").current
    since = timezone.now() - days_ago * DAY
    reed = Reed(
        studio=owner.studio,
        owner=owner,
        version=version,
        stage=stage,
        made_at=since,
        stage_since=since,
        staple_length=45.0,
        **given,
    )
    return actions.make_reeds(reed, owner)[0]


@pytest.fixture
def reed(student) -> Reed:
    return a_reed(student)


def live_through(reed: Reed, times: int) -> None:
    """Numbers, clips, photos and a playing test, `times` over."""
    for _time in range(times):
        actions.record(reed, reed.owner, [Entry(QUANTITIES["tie_length"], Method.RULER, value=72.0)])
        actions.clip(reed, reed.owner, Measured(0.1, 0.05))
        make.ready_photo(reed)
        test = PlayingTest.objects.create(studio=reed.studio, reed=reed, by=reed.owner, effort=3)
        Rating.objects.create(studio=reed.studio, test=test, item="crow", speaks=4)


def test_reed_page_shows_its_life_its_rest_and_what_the_checks_say(student, as_member, reed):
    actions.record(reed, student, [Entry(QUANTITIES["tie_length"], Method.RULER, value=75.0)])
    page = as_member(student).get(student.to("reeds:reed", reed.pk)).content.decode()
    assert "at rest for 10 days" in page
    assert "75.0 ± 0.2 mm" in page
    assert "is above the high limit of 73" in page
    assert "Made" in page


def test_reed_page_asks_as_often_for_a_long_life_as_for_a_short_one(
    student, as_member, reed, django_assert_max_num_queries
):
    client, address = as_member(student), student.to("reeds:reed", reed.pk)
    live_through(reed, 1)
    with django_assert_max_num_queries(12) as short:
        client.get(address)
    live_through(reed, 6)
    with django_assert_max_num_queries(len(short)):
        page = client.get(address)
    assert page.content.decode().count("Clipped 0.1") == 7


def test_timeline_adds_the_clips_up_and_leaves_out_one_taken_back(student, as_member, reed):
    for amount in (0.5, 0.3, 0.2):
        actions.clip(reed, student, Measured(amount, 0.0))
    slip = reed.events.filter(kind=EventKind.CLIP, clip_mm=0.3).get()
    client, address = as_member(student), student.to("reeds:reed", reed.pk)
    assert "1.0 mm in all" in client.get(address).content.decode()
    client.post(student.to("reeds:take_back", slip.pk))
    page = client.get(address).content.decode()
    assert "clipped 0.7 mm in all" in page
    assert "taken-back" in page


def test_other_apps_add_their_moments_to_the_timeline(student, as_member, reed):
    def of_elsewhere(of: RowsOf, member: Member) -> list[Moment]:
        return [Moment(at=timezone.now(), shown=mark_safe("<p>Seen.</p>"), by=str(member))]

    client, address = as_member(student), student.to("reeds:reed", reed.pk)
    before = client.get(address).content.decode().count('class="moment"')
    register_moments(of_elsewhere)
    register_moments(of_elsewhere)
    try:
        assert client.get(address).content.decode().count('class="moment"') == before + 1
    finally:
        _SOURCES.remove(of_elsewhere)


def test_times_are_told_in_the_studios_zone(student, as_member):
    student.studio.time_zone = "Pacific/Auckland"
    student.studio.save()
    reed = a_reed(student)
    at = dt.datetime(2026, 1, 5, 20, 30, tzinfo=dt.UTC)
    reed.events.update(at=at)
    page = as_member(student).get(student.to("reeds:reed", reed.pk)).content.decode()
    assert "2026-01-06T09:30:00+13:00" in page


def test_student_takes_a_step_with_its_time_goes_back_and_skips(student, as_member, reed):
    client, address = as_member(student), student.to("reeds:step", reed.pk)
    fields = fields_of(client.get(student.to("reeds:bench", reed.pk, "step")), "step/")
    assert fields["step-to_stage"] == "bound"
    assert client.post(address, fields | {"step-at": _typed(2 * DAY)}).status_code == 302
    reed.refresh_from_db()
    assert reed.stage == "bound"
    assert 1.9 * DAY < timezone.now() - reed.stage_since < 2.1 * DAY
    client.post(address, {"step-to_stage": "finishing", "step-at": "", "step-why": "in one go"})
    client.post(address, {"step-to_stage": "scraped", "step-at": "", "step-why": "not even yet"})
    kinds = list(reed.events.order_by("at", "pk").values_list("kind", flat=True))
    assert kinds == ["made", "stage", "stage", "back"]


def _typed(ago: dt.timedelta) -> str:
    return timezone.localtime(timezone.now() - ago, ZONE).strftime("%Y-%m-%dT%H:%M")


@pytest.mark.parametrize(
    ("ago", "sentence"),
    [
        (-DAY, "has not come yet"),
        (20 * DAY, "before the reed was made"),
    ],
)
@pytest.mark.parametrize("what", ["step", "clip", "end"])
def test_time_that_cannot_be_is_refused_and_the_rest_stays(student, as_member, reed, what, ago, sentence):
    names = {"step": "step", "clip": "clip", "end": "give_up"}
    given = {"step-to_stage": "bound", "clip-taken": "0.5", "clip-method": "ruler"}
    typed = _typed(ago)  # once: a minute may pass
    given |= {f"{what}-at": typed, "step-why": "kept words", "end-why": "kept words"}
    answer = as_member(student).post(student.to(f"reeds:{names[what]}", reed.pk), given)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert sentence in page
    assert typed in page
    assert ("0.5" if what == "clip" else "kept words") in page
    assert reed.events.count() == 1


def test_step_before_the_last_one_is_refused(student, as_member, reed):
    actions.move_stage(reed, student, Stage.BOUND, timezone.now() - DAY)
    given = {"step-to_stage": "scraped", "step-at": _typed(3 * DAY)}
    answer = as_member(student).post(student.to("reeds:step", reed.pk), given)
    assert answer.status_code == 422
    assert "before its last step" in answer.content.decode()


def test_step_tapped_twice_is_one_step(student, as_member, reed):
    client, address = as_member(student), student.to("reeds:step", reed.pk)
    for _tap in range(2):
        assert client.post(address, {"step-to_stage": "bound", "step-at": ""}).status_code == 302
    assert reed.events.filter(kind=EventKind.STAGE).count() == 1


def test_step_taken_back_gives_the_rest_back(student, reed):
    since = reed.stage_since
    actions.move_stage(reed, student, Stage.SCRAPED)
    actions.take_back(reed.events.get(to_stage="scraped"), student)
    reed.refresh_from_db()
    assert (reed.stage, reed.stage_since) == ("tied", since)


def test_only_the_last_step_is_taken_back_and_never_the_making(student, reed):
    actions.move_stage(reed, student, Stage.BOUND)
    actions.move_stage(reed, student, Stage.SCRAPED)
    for event in (reed.events.get(to_stage="bound"), reed.events.get(kind=EventKind.MADE)):
        with pytest.raises(NotPossible, match="last step"):
            actions.take_back(event, student)
    with pytest.raises(NotPossible, match="who noted it"):
        actions.take_back(reed.events.get(to_stage="scraped"), make.student(studio=student.studio))


def test_clip_sent_twice_counts_once_and_a_comma_is_a_point(student, as_member, reed):
    client, address = as_member(student), student.to("reeds:clip", reed.pk)
    fields = fields_of(client.get(student.to("reeds:bench", reed.pk, "clip")), "clip/")
    for _tap in range(2):
        assert client.post(address, fields | {"clip-taken": "0,5"}).status_code == 302
    assert [(e.clip_mm, e.clip_u) for e in reed.events.filter(kind=EventKind.CLIP)] == [(0.5, 0.2)]
    client.post(address, fields | {"clip-taken": "0.3"})
    assert reed.events.filter(kind=EventKind.CLIP).count() == 2


def test_reed_given_up_goes_back_only_to_where_one_chooses(student, as_member, reed):
    actions.move_stage(reed, student, Stage.GIVEN_UP, why="cracked")
    client = as_member(student)
    fields = fields_of(client.get(student.to("reeds:bench", reed.pk, "step")), "step/")
    assert fields["step-to_stage"] == ""
    assert client.post(student.to("reeds:step", reed.pk), fields).status_code == 422
    client.post(student.to("reeds:step", reed.pk), fields | {"step-to_stage": "tied"})
    reed.refresh_from_db()
    assert reed.stage == "tied"


@pytest.mark.parametrize("typed", ["0", "-1", "half", "40", ""])
def test_clip_that_cannot_be_is_refused(student, as_member, reed, typed):
    given = {"clip-taken": typed, "clip-method": "caliper"}
    answer = as_member(student).post(student.to("reeds:clip", reed.pk), given)
    assert answer.status_code == 422
    assert 'value="caliper" selected' in answer.content.decode()
    assert not reed.events.filter(kind=EventKind.CLIP).exists()


def test_cane_cannot_be_clipped(student, as_member):
    reed = a_reed(student, stage="cane")
    answer = as_member(student).post(
        student.to("reeds:clip", reed.pk), {"clip-taken": "0.5", "clip-method": "ruler"}
    )
    assert answer.status_code == 422
    assert "Only a reed that is tied can be clipped" in answer.content.decode()


def test_reed_is_given_up_with_a_reason_and_not_without(student, as_member, reed):
    client, address = as_member(student), student.to("reeds:give_up", reed.pk)
    assert client.post(address, {"end-why": "", "end-at": ""}).status_code == 422
    client.post(address, {"end-why": "cracked when tied", "end-at": ""})
    event = reed.events.get(kind=EventKind.GIVEN_UP)
    assert (event.from_stage, event.why) == ("tied", "cracked when tied")


def test_flexibility_and_what_was_wrong_are_noted_in_its_life(student, as_member, reed):
    client, address = as_member(student), student.to("reeds:made_of", reed.pk)
    fields = fields_of(client.get(address)) | {"flexibility": "hard", "staple_length": "46"}
    assert client.post(address, fields).status_code == 302
    reed.refresh_from_db()
    assert (reed.flexibility, reed.staple_length) == ("hard", 46.0)
    assert reed.events.get(kind=EventKind.FEEL).feel == "hard"
    assert "staple length" in reed.events.get(kind=EventKind.NOTE).why


def test_made_of_keeps_what_was_typed_beside_a_wrong_length(student, as_member, reed):
    given = {"shape": "narrow", "staple_length": "4.5", "flexibility": "unknown"}
    answer = as_member(student).post(student.to("reeds:made_of", reed.pk), given)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "narrow" in page
    assert "Did you mean 45" in page


def test_only_a_teacher_moves_a_reed_to_another_sheet_as_an_event(teacher, student, as_member, reed):
    pattern = reed.version.pattern
    sheet_actions.change_sheet(pattern, teacher, STARTERS["long"], "changed", 1)
    given = {"sheet-version": pattern.current.pk, "sheet-why": "the term begins"}
    address = teacher.to("reeds:move_sheet", reed.pk)
    assert as_member(student).post(address, given).status_code == 404
    for _tap in range(2):
        as_member(teacher).post(address, given)
    reed.refresh_from_db()
    assert reed.version == pattern.current
    assert reed.events.get(kind=EventKind.PATTERN).why == "the term begins"
    with pytest.raises(NotPossible):
        actions.move_pattern(reed, student, pattern.versions.get(number=1))


def test_sheet_of_another_studio_is_no_choice(teacher, stranger, as_member, reed):
    other = make.VersionFactory(pattern__studio=stranger.studio)
    answer = as_member(teacher).post(teacher.to("reeds:move_sheet", reed.pk), {"sheet-version": other.pk})
    assert answer.status_code == 422


def test_reed_taken_out_is_gone_and_its_number_is_not_used_again(student, teacher, as_member, reed):
    client, address = as_member(student), student.to("reeds:take_out", reed.pk)
    assert "Take it out?" in client.get(address).content.decode()
    assert client.post(address).status_code == 302
    assert client.get(student.to("reeds:reed", reed.pk)).status_code == 404
    assert as_member(teacher).get(teacher.to("reeds:reed", reed.pk)).status_code == 404
    for name in ACTIONS:
        assert client.post(student.to(f"reeds:{name}", reed.pk)).status_code == 404
    event = reed.events.first()
    assert client.post(student.to("reeds:take_back", event.pk)).status_code == 404
    assert a_reed(student).number == reed.number + 1


def test_fellow_student_and_stranger_find_no_reed(other_student, stranger, as_member, reed):
    event = reed.events.first()
    for member in (other_student, stranger):
        client = as_member(member)
        for name in ("reed", "numbers", "made_of", "take_out"):
            assert client.get(member.to(f"reeds:{name}", reed.pk)).status_code == 404
        for name in ACTIONS:
            assert client.post(member.to(f"reeds:{name}", reed.pk)).status_code == 404
        assert client.post(member.to("reeds:take_back", event.pk)).status_code == 404
    reed.refresh_from_db()
    assert reed.taken_out_at is None


@pytest.mark.parametrize("part", ["life", "numbers", "step", "strokes", "clip", "end", "reference"])
def test_what_is_done_at_the_bench_comes_when_its_fold_is_opened_and_has_a_page_of_its_own(
    student, as_member, part
):
    reed = a_reed(student, stage="playing")
    client, address = as_member(student), student.to("reeds:bench", reed.pk, part)
    page = client.get(student.to("reeds:reed", reed.pk)).text
    assert page.count(address) == 2, "one for htmx, one to follow without script"
    alone, within = client.get(address).text, client.get(address, headers={"HX-Request": "true"}).text
    assert "<form" in within
    assert "<html" not in within
    assert alone.count("<h1>") == 1
    assert within.split("<form")[1].split(">")[0] in alone


def test_nothing_is_unfolded_that_one_may_not_do(student, teacher, as_member, reed):
    for member, part in ((student, "sheet"), (teacher, "reference"), (student, "life"), (student, "dance")):
        assert as_member(member).get(member.to("reeds:bench", reed.pk, part)).status_code == 404
    assert "sheet-version" in as_member(teacher).get(teacher.to("reeds:bench", reed.pk, "sheet")).text


def test_wrong_methods_are_refused(student, as_member, reed):
    client = as_member(student)
    for name in ("step", "clip", "give_up", "move_sheet"):
        assert client.get(student.to(f"reeds:{name}", reed.pk)).status_code == 405
    assert client.get(student.to("reeds:take_back", 1)).status_code == 405
    assert client.post(student.to("reeds:reed", reed.pk)).status_code == 405
    for name in ("numbers", "made_of", "take_out"):
        assert client.delete(student.to(f"reeds:{name}", reed.pk)).status_code == 405


def test_numbers_recorded_with_one_key_are_recorded_once(student, reed):
    key, entry = uuid.uuid4(), Entry(QUANTITIES["tie_length"], Method.RULER, value=72.0)
    first = actions.record(reed, student, [entry], key=key)
    assert actions.record(reed, student, [entry], key=key) == first
    assert reed.measurements.count() == 1


def test_what_is_not_noted_yet_stands_in_one_line(student, as_member, reed):
    page = as_member(student).get(student.to("reeds:reed", reed.pk)).content.decode()
    assert page.count("To be noted at this stage:") == 1
    assert "tie length" in page.split("To be noted at this stage:")[1].split("</p>")[0]


def test_what_the_instrument_wants_stands_on_its_reeds_pages(student, teacher, as_member, reed):
    sheet_actions.set_offsets(student, teacher, {"tie_length": 1.0}, "")
    page = as_member(student).get(student.to("reeds:reed", reed.pk)).content.decode()
    assert "tie length +1 mm" in page


def test_what_was_played_last_is_checked_too(student, as_member, reed):
    Reed.objects.filter(pk=reed.pk).update(stage="playing")
    for effort in (3, 5):
        PlayingTest.objects.create(studio=reed.studio, reed=reed, by=student, effort=effort)
    page = as_member(student).get(student.to("reeds:reed", reed.pk)).content.decode()
    assert "It is hard to blow." in page
