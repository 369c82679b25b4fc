"""The page on which a round grows, and sending it."""

import datetime as dt
import json
import re

import pytest
from django.utils import timezone

from lessons.sending.models import Submission
from lessons.sending.typed import now_ms
from tests import factories as make


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="tied")


@pytest.fixture
def phone(as_member, student):
    return as_member(student)


def draft_of(reed):
    return Submission.objects.get(reed=reed, sent_at=None)


def key_on(page):
    """The key with which this page names its round."""
    return re.search(r'name="key" value="([^"]+)"', page.content.decode())[1]


def post(phone, reed, name, data=None, **headers):
    return phone.post(reed.owner.to(name, reed.pk), data or {}, **headers)


def test_a_student_opens_the_page_and_no_value_is_filled_in(phone, reed):
    page = phone.get(reed.owner.to("lessons:draft", reed.pk))
    assert page.status_code == 200
    text = page.content.decode()
    assert 'name="tie_length" value=""' in text
    assert '<option value="ruler" selected>' in text
    assert "no-store" in page["Cache-Control"]


def test_a_page_only_looked_at_is_not_begun(phone, reed):
    phone.get(reed.owner.to("lessons:draft", reed.pk))
    assert not Submission.objects.exists()


def test_pages_opened_before_anything_was_typed_name_the_same_round(phone, reed):
    first, second = (key_on(phone.get(reed.owner.to("lessons:draft", reed.pk))) for _page in range(2))
    assert first == second
    post(phone, reed, "lessons:save", {"tie_length": "72", "key": first})
    assert str(draft_of(reed).key) == first
    assert key_on(phone.get(reed.owner.to("lessons:draft", reed.pk))) == first
    post(phone, reed, "lessons:go", {"key": first})
    assert post(phone, reed, "lessons:save", {"tie_length": "73", "key": second}).status_code == 409
    assert key_on(phone.get(reed.owner.to("lessons:draft", reed.pk))) != first


@pytest.mark.parametrize("name", ["draft", "save", "go", "photo", "stage", "next"])
def test_a_stranger_and_a_fellow_student_find_no_such_page(
    name, reed, as_member, stranger, other_student, teacher
):
    for who in (stranger, other_student, teacher):
        client = as_member(who)
        method = client.get if name == "draft" else client.post
        assert method(reed.owner.to(f"lessons:{name}", reed.pk)).status_code == 404
    assert not Submission.objects.exists()


@pytest.mark.parametrize("name", ["save", "go", "photo", "stage", "next"])
def test_a_page_that_changes_something_is_not_got(name, phone, reed):
    assert phone.get(reed.owner.to(f"lessons:{name}", reed.pk)).status_code == 405


def test_what_a_student_types_is_kept_and_checked(phone, reed):
    answer = post(phone, reed, "lessons:save", {"tie_length": "75"}, HTTP_HX_REQUEST="true")
    assert answer.status_code == 200
    assert 'id="said-tie_length"' in answer.content.decode()
    assert "above" in answer.content.decode()
    assert draft_of(reed).draft == {"tie_length": "75"}


@pytest.mark.parametrize("typed", ["0", "-72", "7.25", "72 in", "seventy", "1e9", "72;73"])
def test_a_number_that_cannot_be_right_is_asked_back_and_nothing_is_lost(typed, phone, reed):
    data = {"tie_length": typed, "staple_length": "45", "question": "Is it too long?"}
    answer = post(phone, reed, "lessons:save", data)
    assert "said-error" in answer.content.decode()
    sent = post(phone, reed, "lessons:go", data)
    assert sent.status_code == 422
    page = sent.content.decode()
    assert f'name="tie_length" value="{typed}"' in page
    assert 'name="staple_length" value="45"' in page
    assert "Is it too long?" in page
    assert draft_of(reed).sent_at is None


def typed_at(data, at, clock=None, of=None):
    """What a page posts: its fields, of which it typed those `of`, when, and what its clock shows."""
    now = now_ms() if clock is None else clock
    told = dict.fromkeys(data if of is None else of, at)
    return {**data, "typed_at": json.dumps(told), "clock": str(now)}


def test_a_save_that_was_overtaken_changes_nothing(phone, reed):
    now = now_ms()
    post(phone, reed, "lessons:save", typed_at({"tie_length": "72.5"}, now - 1000))
    post(phone, reed, "lessons:save", typed_at({"tie_length": "72"}, now - 1001))
    assert draft_of(reed).draft["tie_length"] == "72.5"
    post(phone, reed, "lessons:save", typed_at({"tie_length": "73"}, now - 999))
    assert draft_of(reed).draft["tie_length"] == "73"


def test_two_phones_fill_one_draft(phone, reed):
    post(phone, reed, "lessons:save", typed_at({"tie_length": "72.5"}, now_ms()))
    post(phone, reed, "lessons:save", typed_at({"staple_length": "45"}, now_ms() - 9000))
    assert draft_of(reed).draft == {"tie_length": "72.5", "staple_length": "45"}


@pytest.mark.parametrize("how", ["save", "stage", "go"])
def test_what_a_page_only_shows_takes_nothing_back_that_was_typed_elsewhere(phone, reed, how):
    """Two pages of one draft: the question typed later stays, whichever page saves or sends last."""
    old = {"tie_length": "72", "question": "", "to_stage": "tied"}
    post(phone, reed, "lessons:save", typed_at({"question": "Does it lean?"}, now_ms()))
    post(phone, reed, f"lessons:{how}", typed_at(old, now_ms() - 5000, of=["tie_length"]))
    draft = Submission.objects.get(reed=reed)
    assert (draft.question, draft.draft) == ("Does it lean?", {"tie_length": "72"})
    assert bool(draft.sent_at) is (how == "go")


@pytest.mark.parametrize("ahead_ms", [3_600_000, -3_600_000])
def test_a_clock_that_is_wrong_wins_nothing(phone, reed, ahead_ms):
    now = now_ms()
    post(phone, reed, "lessons:save", typed_at({"tie_length": "72"}, now + ahead_ms, now + ahead_ms))
    post(phone, reed, "lessons:save", typed_at({"tie_length": "73"}, now_ms()))
    assert draft_of(reed).draft["tie_length"] == "73"
    post(
        phone, reed, "lessons:save", typed_at({"tie_length": "74"}, now_ms() + ahead_ms, now_ms() + ahead_ms)
    )
    assert draft_of(reed).draft["tie_length"] == "74"


def test_a_page_that_tells_no_times_or_unreadable_ones_typed_just_now(phone, reed):
    post(phone, reed, "lessons:save", typed_at({"tie_length": "72"}, now_ms()))
    odd = ["", "[]", "{", '{"tie_length": "1"}', '{"tie_length": true}', "[" * 7000, "9" * 9000]
    for n, told in enumerate(odd):
        data = {"tie_length": str(n), "typed_at": told, "clock": str(now_ms())}
        post(phone, reed, "lessons:save", data)
        assert draft_of(reed).draft["tie_length"] == str(n), told
    post(phone, reed, "lessons:save", {**typed_at({"tie_length": "73"}, 5), "clock": "noon"})
    assert draft_of(reed).draft["tie_length"] == "73"


def test_a_second_send_from_a_page_that_was_overtaken_finds_the_round_sent(phone, reed):
    key = key_on(phone.get(reed.owner.to("lessons:draft", reed.pk)))
    later, sooner = now_ms(), now_ms() - 4000
    post(phone, reed, "lessons:go", typed_at({"question": "Does it lean?", "key": key}, later))
    again = post(phone, reed, "lessons:go", typed_at({"question": "Does it", "key": key}, sooner))
    assert again.url == reed.owner.to("lessons:round", Submission.objects.get().pk)
    new = post(phone, reed, "lessons:go", typed_at({"question": "And now?", "key": key}, now_ms() + 9))
    assert "after=1" in new.url
    assert draft_of(reed).question == "And now?"


def test_a_student_sends_and_is_led_to_the_round(phone, reed):
    data = {"tie_length": "75", "tie_length-method": "caliper", "question": "Too long?"}
    answer = post(phone, reed, "lessons:go", data)
    sent = Submission.objects.get(reed=reed)
    assert answer.url == reed.owner.to("lessons:round", sent.pk)
    assert sent.stage == "tied"
    assert sent.version == reed.version
    [row] = sent.measurements.all()
    assert (row.value, row.u, row.method) == (75.0, 0.05, "caliper")


def test_what_was_found_is_stored_as_it_was_shown(phone, reed):
    shown = post(phone, reed, "lessons:save", {"tie_length": "75"}).content.decode()
    post(phone, reed, "lessons:go", {"tie_length": "75"})
    sent = Submission.objects.get(reed=reed)
    page = phone.get(reed.owner.to("lessons:round", sent.pk)).content.decode()
    sentence = shown.split('finding-look">')[1].split("<p>")[1].split("</p>")[0]
    assert "75" in sentence
    assert sentence in page
    assert sent.need > 0


def test_a_double_tap_sends_one_round(phone, reed):
    page = phone.get(reed.owner.to("lessons:draft", reed.pk))
    data = {"tie_length": "72", "key": key_on(page)}
    first, second = (post(phone, reed, "lessons:go", data) for _tap in range(2))
    assert first.url == second.url
    assert str(Submission.objects.get(reed=reed).key) == data["key"]
    assert reed.measurements.count() == 1


def test_what_is_typed_in_a_second_page_begins_the_next_round(phone, reed):
    key = key_on(phone.get(reed.owner.to("lessons:draft", reed.pk)))
    post(phone, reed, "lessons:go", {"tie_length": "72", "key": key})
    late = post(phone, reed, "lessons:save", {"tie_length": "72", "staple_length": "45", "key": key})
    assert late.status_code == 409
    assert "sent meanwhile" in late.content.decode()
    answer = post(phone, reed, "lessons:go", {"tie_length": "72", "staple_length": "45", "key": key})
    assert answer.url.startswith(reed.owner.to("lessons:draft", reed.pk))
    assert draft_of(reed).draft["staple_length"] == "45"
    assert draft_of(reed).round == 2
    assert '<span class="quiet">round 2</span>' in phone.get(answer.url).text


def test_the_next_round_is_the_next_by_number_whatever_the_clock_said(phone, reed):
    for number, hours in ((1, 2), (2, 0)):  # the clock went wrong, or was put right
        make.SubmissionFactory(reed=reed, round=number, sent_at=timezone.now() + dt.timedelta(hours=hours))
    page = phone.get(reed.owner.to("lessons:draft", reed.pk))
    assert '<span class="quiet">round 3</span>' in page.text
    post(phone, reed, "lessons:go", {"tie_length": "72", "key": key_on(page)})
    assert Submission.objects.get(reed=reed, round=3).sent_at
    # an open draft leads, be it the oldest
    Submission.objects.filter(reed=reed, round=1).update(sent_at=None)
    assert Submission.objects.next_round(reed, reed.owner).round == 1


def test_nothing_is_not_sent(phone, reed):
    answer = post(phone, reed, "lessons:go", {"moisture": "wet", "tie_length": " "})
    assert answer.status_code == 422
    assert "Add a photo, a number or a question" in answer.content.decode()


def test_a_question_alone_is_sent(phone, reed):
    assert post(phone, reed, "lessons:go", {"question": "Where do I start?"}).status_code == 302


def test_the_script_is_told_where_to_go(phone, reed):
    answer = post(phone, reed, "lessons:go", {"tie_length": "72"}, HTTP_HX_REQUEST="true")
    assert answer.json() == {"to": reed.owner.to("lessons:round", Submission.objects.get().pk)}


def test_a_reed_taken_out_meanwhile_is_said_in_a_sentence(phone, reed):
    phone.get(reed.owner.to("lessons:draft", reed.pk))
    type(reed).objects.filter(pk=reed.pk).update(taken_out_at=reed.made_at)
    answer = post(phone, reed, "lessons:go", {"question": "Is it too long?"})
    assert answer.status_code == 410
    assert "taken out" in answer.content.decode()
    assert "Is it too long?" in answer.content.decode()


def test_a_reed_taken_out_stays_hidden_from_others(reed, as_member, other_student):
    type(reed).objects.filter(pk=reed.pk).update(taken_out_at=reed.made_at)
    assert as_member(other_student).get(reed.owner.to("lessons:draft", reed.pk)).status_code == 404


def test_a_student_notes_that_the_reed_is_further(phone, reed):
    answer = post(phone, reed, "lessons:stage", {"to_stage": "bound", "question": "kept?"})
    assert answer.status_code == 302
    page = phone.get(answer.url).content.decode()
    assert 'name="thread_past_staple"' in page
    assert "kept?" in page


def test_a_stage_that_does_not_exist_is_asked_back(phone, reed):
    assert post(phone, reed, "lessons:stage", {"to_stage": "eaten"}).status_code == 422


def test_the_playing_test_is_sent(phone, reed):
    post(phone, reed, "lessons:go", {"plays-crow": "5", "plays-low_notes": "1", "effort": "4"})
    test = Submission.objects.get().playing_test
    assert test.effort == 4
    assert {row.item: row.speaks for row in test.ratings.all()} == {"crow": 5, "low_notes": 1}


def test_how_hard_it_blows_is_asked_once(phone, reed):
    asked = phone.get(reed.owner.to("lessons:draft", reed.pk)).text
    assert asked.count("to blow") == asked.count("How hard is it to blow?") == 1
    post(phone, reed, "lessons:go", {"plays-crow": "5", "blows-crow": "2", "effort": "4"})
    sent = Submission.objects.get()
    assert {(row.item, row.effort) for row in sent.playing_test.ratings.all()} == {("crow", None)}
    assert sent.playing_test.effort == 4


def test_one_item_is_open_the_first_that_nothing_is_noted_of(phone, student):
    reed = make.ReedFactory(owner=student, stage="playing")
    first, second = (item.key for item in reed.version.test[:2])
    opened = re.compile(r'<details class="played" open data-played>.*?name="plays-(\w+)"', re.DOTALL)
    page = lambda: phone.get(student.to("lessons:draft", reed.pk)).text  # noqa: E731
    assert opened.findall(page()) == [first]
    post(phone, reed, "lessons:save", {f"plays-{first}": "4"})
    assert opened.findall(page()) == [second]
    assert "<span data-rated>mostly</span>" in page()


def test_wet_or_dry_is_not_chosen_beforehand(phone, reed):
    page = phone.get(reed.owner.to("lessons:draft", reed.pk)).text
    chosen = re.findall(r'name="moisture" value="(\w+)"\s*(checked)?', page)
    assert chosen == [("wet", ""), ("dry", ""), ("unknown", "checked")]
    post(phone, reed, "lessons:go", {"tie_length": "72"})
    assert reed.measurements.get().moisture == "unknown"


def test_effort_alone_is_sent(phone, reed):
    assert post(phone, reed, "lessons:go", {"effort": "3"}).status_code == 302


def test_a_rating_that_is_not_offered_is_refused_and_the_rest_kept(phone, reed):
    answer = post(phone, reed, "lessons:go", {"plays-crow": "9", "question": "kept?"})
    assert answer.status_code == 422
    assert "kept?" in answer.content.decode()


@pytest.mark.parametrize(
    "stage", ["cane", "shaped", "tied", "bound", "scraped", "finishing", "playing", "played_out"]
)
def test_every_stage_asks_at_most_six_and_can_be_sent(stage, phone, student):
    reed = make.ReedFactory(owner=student, stage=stage)
    page = phone.get(student.to("lessons:draft", reed.pk)).content.decode()
    assert page.count('inputmode="decimal"') <= 6
    assert post(phone, reed, "lessons:go", {"question": "?"}).status_code == 302


def test_the_queries_of_the_page_do_not_grow(phone, student, django_assert_max_num_queries):
    reed = make.ReedFactory(owner=student)
    submission = make.SubmissionFactory(reed=reed)
    counts = []
    for extra in (1, 6):
        for _ in range(extra):
            submission.photos.add(make.ready_photo(reed))
        with django_assert_max_num_queries(30) as counted:
            phone.get(student.to("lessons:draft", reed.pk))
        counts.append(len(counted.captured_queries))
    assert counts[0] == counts[1]
