"""What is noted at the bench, from the draft to the pages of both and to the term."""

from __future__ import annotations

import datetime as dt

import pytest

from lessons.sending.models import Submission
from reeds.checks.sheet import Limit, Sheet
from reeds.reed.models.measurement import Measurement
from reeds.sheet.starters import SHORT_SCRAPE
from tests import factories as make
from tests.reeds.form import fields_of


@pytest.fixture
def reed(student):
    return make.ReedFactory(owner=student, stage="tied")


@pytest.fixture
def phone(as_member, student):
    return as_member(student)


def draft(phone, reed):
    return phone.get(reed.owner.to("lessons:draft", reed.pk)).text


def go(phone, reed, **typed):
    return phone.post(reed.owner.to("lessons:go", reed.pk), typed)


def test_the_stages_items_are_asked_in_a_fold_of_taps_and_nothing_is_chosen(phone, reed):
    fields = fields_of(phone.get(reed.owner.to("lessons:draft", reed.pk)))
    assert fields["tied_straight"] == ""
    assert fields["wire_place"] == ""
    assert "fold_cut" not in fields
    page = draft(phone, reed)
    assert '<details class="fold" id="at-bench">' in page
    assert "turned or leaning" in page


def test_what_is_chosen_is_kept_told_and_sent_with_the_reed(phone, reed, student):
    saved = phone.post(reed.owner.to("lessons:save", reed.pk), {"tied_straight": "turned"}).text
    assert "tied off-centre, a reed leaks easily" in saved
    assert "Tie it again, straight" in saved
    assert 'id="said-tied_straight"' in saved
    assert "1 noted" in draft(phone, reed)
    go(phone, reed, tied_straight="turned", wire_place="6", thread_force="easy")
    rows = {row.quantity: row for row in reed.measurements.all()}
    assert (rows["tied_straight"].word, rows["tied_straight"].by) == ("turned", student)
    assert (rows["wire_place"].value, rows["wire_place"].u) == (6.0, 0.2)
    sent = Submission.objects.get(reed=reed)
    assert sent.measurements.count() == 3
    assert [one.quantity for one in sent.found if one.check == "bench"] == ["tied_straight"]


def test_a_word_that_cannot_be_chosen_is_refused(phone, reed):
    answer = go(phone, reed, tied_straight="perhaps", question="Is it?")
    assert answer.status_code == 422
    assert not reed.measurements.exists()


def test_noting_it_again_adds_a_row_and_the_newer_counts(phone, reed):
    for word in ("turned", "straight"):
        go(phone, reed, tied_straight=word)
        page = phone.get(reed.owner.to("reeds:reed", reed.pk)).text
        assert ("Tie it again, straight" in page) is (word == "turned")
    assert [row.word for row in reed.measurements.all()] == ["turned", "straight"]


def test_the_timeline_shows_the_words_and_no_tool(phone, reed):
    go(phone, reed, wire_twist="flat")
    page = phone.get(reed.owner.to("reeds:reed", reed.pk)).text
    life = page[page.index('id="life"') :]
    assert "on the flat side" in life
    assert "by eye" not in life


def test_it_can_be_noted_on_the_reeds_own_page_too(phone, reed):
    address = reed.owner.to("reeds:numbers", reed.pk)
    assert "How it was done at the bench" in phone.get(address).text
    assert phone.post(address, {"thread_force": "forced"}).status_code == 302
    assert reed.measurements.get().word == "forced"


def test_the_teacher_reads_it_folded_in_the_review_and_not_among_the_numbers(phone, reed, as_member, teacher):
    go(phone, reed, tied_straight="straight", tie_length="72")
    row = Submission.objects.get(reed=reed)
    page = as_member(teacher).get(teacher.to("lessons:review", row.pk)).text
    came = page[page.index('class="came-rest"') :]
    numbers = came[came.index('class="stage-numbers"') : came.index("</dl>")]
    assert "72" in numbers
    assert "straight" not in numbers
    assert "<dd>straight</dd>" not in came
    rest = as_member(teacher).get(teacher.to("lessons:rest", row.pk)).text
    assert "<dt>on the staple</dt><dd>straight</dd>" in rest


def test_a_photo_is_asked_for_where_the_teacher_likes(phone, reed):
    rows = (*SHORT_SCRAPE.limits, Limit(quantity="tied_straight", photo=True))
    reed.version.data = Sheet(SHORT_SCRAPE.style, rows).to_json()
    reed.version.save()
    assert draft(phone, reed).count("Your teacher asks for a photo of it, too.") == 1
    round_ = make.SubmissionFactory(reed=reed)
    round_.photos.add(make.ready_photo(reed))
    assert "does one of those above show it?" in draft(phone, reed)


def test_another_students_and_another_studios_people_note_nothing(reed, as_member, other_student, stranger):
    for other in (other_student, stranger):
        address = reed.owner.to("reeds:numbers", reed.pk)
        assert as_member(other).post(address, {"thread_force": "forced"}).status_code == 404
    assert not reed.measurements.exists()


def test_the_term_counts_the_reeds_it_was_noted_of_by_the_last_word(phone, student, as_member, teacher):
    today = make.today()
    make.TermFactory(
        studio=teacher.studio, starts_on=today - dt.timedelta(days=9), ends_on=today + dt.timedelta(days=1)
    )
    for words in (["turned", "straight"], ["turned"], ["straight"]):
        reed = make.ReedFactory(owner=student, stage="tied")
        for word in words:
            Measurement.objects.create(
                studio=reed.studio, reed=reed, quantity="tied_straight", word=word, method="eye", stage="tied"
            )
    page = as_member(teacher).get(teacher.to("lessons:term_reckoned")).text
    bench = page[page.index("How it was done at the bench") :]
    assert "2 of 3: 67 %" in bench[: bench.index("turned or leaning")]
    assert "1 of 3: 33 %" in bench


def test_a_teacher_asks_for_it_on_the_sheet_with_a_photo(teacher, as_member):
    version = make.VersionFactory(pattern__studio=teacher.studio)
    client, address = as_member(teacher), teacher.to("reeds:pattern_edit", version.pattern.pk)
    grown = client.post(address, fields_of(client.get(address)) | {"add": "1", "another": "fold_cut"})
    fields = fields_of(grown) | {"why": "I want to see the fold"}
    (prefix,) = [name.removesuffix("quantity") for name, value in fields.items() if value == "fold_cut"][:1]
    answer = client.post(address, fields | {f"{prefix}choice": "half", f"{prefix}photo": "on"})
    assert answer.status_code == 302
    row = version.pattern.current.sheet.limit_for("fold_cut")
    assert (row.choice, row.photo) == ("half", True)
    shown = client.get(teacher.to("reeds:pattern", version.pattern.pk)).text
    assert "half cut, closed by hand" in shown
    assert "a photo is asked for" in shown
