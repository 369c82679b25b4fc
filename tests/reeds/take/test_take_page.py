"""A take's page, what was heard, and its sound: whole, in parts, to nobody else."""

import datetime as dt

import pytest
from django.utils import timezone

from reeds.reed.models.reed import Reed
from reeds.take.models import Take
from tests import factories as make


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="playing", number=12)


@pytest.fixture
def take(reed):
    return make.ready_take(reed, hz=445.0)


def at(take, name="take"):
    return take.reed.owner.to(f"reeds:{name}", take.pk)


def read(answer):
    return b"".join(answer.streaming_content)


def test_its_student_and_the_teacher_see_picture_and_cents(take, as_member, student, teacher):
    for who in (student, teacher):
        page = as_member(who).get(at(take)).content.decode()
        assert 'role="slider"' in page
        assert 'class="limits"' in page
        assert "+11.7 ± 0.1 cents against" in page or "+11.7" in page


@pytest.mark.parametrize("name", ["take", "take_heard", "take_sound"])
def test_a_fellow_and_a_stranger_find_nothing(name, take, as_member, other_student, stranger):
    for who in (other_student, stranger):
        assert as_member(who).get(at(take, name)).status_code == 404
        assert as_member(who).get(who.to(f"reeds:{name}", take.pk)).status_code == 404


@pytest.mark.parametrize("name", ["take", "take_heard", "take_sound"])
def test_nothing_is_posted_to_it_and_one_taken_back_is_gone(name, take, as_member, student):
    assert as_member(student).post(at(take, name)).status_code == 405
    Take.objects.update(taken_back_at=timezone.now())
    assert as_member(student).get(at(take, name)).status_code == 404


def test_the_whole_sound_says_that_parts_can_be_had(take, as_member, student):
    answer = as_member(student).get(at(take, "take_sound"))
    assert (answer.status_code, answer["Content-Type"], answer["Accept-Ranges"]) == (
        200,
        "audio/wav",
        "bytes",
    )
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "private" in answer["Cache-Control"]
    assert read(answer) == make.tone(445.0)


def test_a_part_is_sent_as_a_part(take, as_member, student):
    answer = as_member(student).get(at(take, "take_sound"), headers={"range": "bytes=2-5"})
    whole = make.tone(445.0)
    assert answer.status_code == 206
    assert answer["Content-Range"] == f"bytes 2-5/{len(whole)}"
    assert answer["Content-Length"] == "4"
    assert read(answer) == whole[2:6]


def test_a_part_behind_the_end_is_refused(take, as_member, student):
    answer = as_member(student).get(at(take, "take_sound"), headers={"range": "bytes=99999999-"})
    assert answer.status_code == 416
    assert answer["Content-Range"] == f"bytes */{len(make.tone(445.0))}"


@pytest.mark.parametrize(
    "change", [{"state": "waiting"}, {"content_type": "text/html"}, {"file": "takes/no.wav"}]
)
def test_what_is_not_ready_not_sound_or_gone_is_not_served(change, take, as_member, student):
    Take.objects.update(**change)
    assert as_member(student).get(at(take, "take_sound")).status_code == 404


def test_the_page_asks_while_the_server_listens_and_then_stops(take, as_member, student):
    Take.objects.update(state="waiting")
    client = as_member(student)
    assert "tries=4" in client.get(at(take, "take_heard") + "?tries=3").content.decode()
    assert "hx-get" not in client.get(at(take, "take_heard") + "?tries=24").content.decode()
    Take.objects.update(state="ready")
    done = client.get(at(take, "take_heard") + "?tries=3")
    assert done["HX-Trigger"] == "take-heard"
    assert "hx-get" not in done.content.decode()


def test_the_reference_of_the_sitting_comes_first_and_the_reed_before_lies_under_it(take, as_member, student):
    good = make.ReedFactory(owner=student, is_reference=True, number=3)
    make.ready_take(good, hz=442.0)
    old = make.ReedFactory(owner=student, number=11)
    make.ready_take(old, hz=440.0, at=take.at - dt.timedelta(days=9))
    page = as_member(student).get(at(take)).content.decode()
    assert page.index("cents beside your reference reed") < page.index("cents against the studio")
    assert page.index("your reference, reed 3") < page.index("reed 11,")
    assert page.count('class="sound-picture"') == 3


def test_a_recorder_that_changed_the_sound_hides_level_and_response(take, as_member, student):
    Take.objects.update(granted={"autoGainControl": True})
    page = as_member(student).get(at(take)).content.decode()
    assert "changed the sound by itself" in page
    row = page[page.index('<th scope="row">A4') :].split("</tr>")[0]
    assert row.count("<td>–</td>") == 2


def test_only_its_player_names_a_reference_and_takes_the_name_off(reed, as_member, student, teacher):
    address = student.to("reeds:reference", reed.pk)
    assert as_member(teacher).post(address).status_code == 404
    assert as_member(student).get(address).status_code == 405
    fold = student.to("reeds:bench", reed.pk, "reference")
    Reed.objects.update(stage="tied")
    assert as_member(student).get(fold).status_code == 404
    assert "Only a reed that plays" in as_member(student).post(address, follow=True).text
    Reed.objects.update(stage="playing")
    assert "my reference reed" in as_member(student).get(fold).text
    for named in (True, False):
        assert as_member(student).post(address).status_code == 302
        assert Reed.objects.get(pk=reed.pk).is_reference is named


def test_more_takes_cost_no_more_queries(reed, as_member, student, django_assert_max_num_queries):
    rounds = make.sent_round(student, reed=reed, photos=0)
    client, address = as_member(student), student.to("lessons:round", rounds.pk)
    rounds.takes.add(make.ready_take(reed))
    client.get(address)
    with django_assert_max_num_queries(40) as few:
        client.get(address)
    for item in ("crow", "low_notes", "long_tone", "staccato"):
        rounds.takes.add(make.ready_take(reed, item=item))
    with django_assert_max_num_queries(len(few)):
        client.get(address)


def test_what_else_was_heard_stands_on_its_page_with_its_time(take, as_member, student):
    voices = {"kind": "voices", "start_s": 7.2, "end_s": 65.0, "hz": None}
    tone = {"kind": "tone", "start_s": 0.0, "end_s": 9.0, "hz": 220.0}
    clicks = {"kind": "clicks", "start_s": 3.0, "end_s": 4.0, "hz": None}
    take.result |= {"also": [voices, tone, clicks], "moved_cents": -200.0}
    take.save()
    page = as_member(student).get(at(take)).content.decode()
    voices_said = "Also heard: voices or music from 0:07 to 1:05."
    assert "Also heard: clicks or knocks from 0:03 to 0:04." in page
    for words in (voices_said, "Also heard: a steady tone of 220 Hz besides.", "200 cents from"):
        assert words in page
