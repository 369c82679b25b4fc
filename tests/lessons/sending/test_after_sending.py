"""After sending: what went, when an answer is usual, and the way back until somebody looks."""

import datetime as dt

import pytest
from django.utils import timezone

from lessons.answering.actions.looking import look
from lessons.answering.models import Answer
from lessons.sending.models import Submission
from lessons.sending.usual import FEWEST, Answered, usual_wait
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest
from tests import factories as make

NOON = dt.datetime(2026, 10, 1, 12, tzinfo=dt.UTC)
TYPED = {"tie_length": "72.5", "gouge": "", "plays-crow": "4", "question": "Too long?"}


@pytest.fixture
def sent(student, as_member):
    reed = make.ReedFactory(owner=student, stage="tied", number=7)
    as_member(student).post(student.to("lessons:go", reed.pk), TYPED)
    return Submission.objects.get(reed=reed)


def back(client, round_, **given):
    return client.post(round_.student.to("lessons:round_back", round_.pk), given, follow=True)


def page(client, round_):
    return client.get(round_.student.to("lessons:round", round_.pk)).text


# --- taking it back -------------------------------------------------------------------------------


def test_what_is_taken_back_is_a_draft_with_all_that_was_in_it(sent, student, as_member):
    photo = make.ready_photo(sent.reed)
    sent.photos.add(photo)
    assert "Take it back" in page(as_member(student), sent)
    answer = back(as_member(student), sent)
    assert answer.redirect_chain == [(student.to("lessons:desk"), 302)]
    assert "Round 1 of reed 7 was taken back" in answer.text
    sent.refresh_from_db()
    assert (sent.sent_at, sent.draft["tie_length"], sent.question) == (None, "72.5", "Too long?")
    assert list(sent.photos.all()) == [photo]
    assert not Measurement.objects.exists()
    assert not PlayingTest.objects.exists()


def test_what_was_forgotten_is_added_and_it_is_sent_again_once(sent, student, as_member):
    answer = back(as_member(student), sent, to_add="1")
    assert answer.redirect_chain == [(student.to("lessons:draft", sent.reed_id), 302)]
    assert "Round 1 is not sent now" in answer.text
    again = {**TYPED, "overall_length": "73", "key": str(sent.key)}
    as_member(student).post(student.to("lessons:go", sent.reed_id), again)
    sent.refresh_from_db()
    assert (sent.round, sent.sent_at is not None) == (1, True)
    assert {row.quantity: row.value for row in sent.measurements.all()}["tie_length"] == 72.5
    assert Measurement.objects.filter(quantity="tie_length").count() == 1
    assert PlayingTest.objects.count() == 1
    assert Submission.objects.count() == 1


def test_what_was_measured_on_a_photo_stays_the_reeds(sent, student, as_member):
    photo = make.ready_photo(sent.reed)
    sent.photos.add(photo)
    about = {"studio": sent.studio, "reed": sent.reed, "quantity": "tip_length", "value": 2.5, "u": 0.1}
    on_it = Measurement.objects.create(**about, method="photo", stage="tied", photo=photo)
    sent.measurements.add(on_it)
    back(as_member(student), sent)
    assert list(Measurement.objects.all()) == [on_it]


def test_a_tap_twice_and_an_empty_page_of_the_next_round_are_no_hindrance(sent, student, as_member):
    make.SubmissionFactory(reed=sent.reed, round=2)  # only looked at
    for _tap in range(2):
        assert "was taken back" in back(as_member(student), sent).text
    assert [row.round for row in Submission.objects.all()] == [1]


def test_once_somebody_looks_it_stays(sent, student, teacher, as_member):
    look(sent, teacher)
    assert "Take it back" not in page(as_member(student), sent)
    assert "cannot be taken back any more" in back(as_member(student), sent).text
    sent.refresh_from_db()
    assert sent.sent_at


def test_with_an_answer_begun_or_a_next_round_begun_it_stays(sent, student, teacher, as_member):
    begun = make.SubmissionFactory(reed=sent.reed, round=2, question="And now?")
    text = page(as_member(student), sent)
    assert "Take it back" not in text
    assert "Begin round 2 without waiting" in text
    back(as_member(student), sent)
    begun.delete()
    answer = Answer.objects.create(submission=sent, author=teacher, studio=sent.studio)
    back(as_member(student), sent)
    sent.refresh_from_db()
    assert sent.sent_at
    answer.delete()
    Submission.objects.filter(pk=sent.pk).update(answered_at=timezone.now())
    back(as_member(student), sent)
    sent.refresh_from_db()
    assert sent.sent_at


def test_nobody_else_takes_it_back(sent, student, other_student, teacher, stranger, as_member):
    student.under_age, student.guardian_consent_on = True, make.today()
    student.save()
    guardian = make.guardian(student)
    for who in (other_student, teacher, stranger, guardian):
        address = who.to("lessons:round_back", sent.pk)
        assert as_member(who).post(address).status_code in (403, 404)
    assert as_member(student).get(student.to("lessons:round_back", sent.pk)).status_code == 405
    for who in (teacher, guardian):
        assert "Take it back" not in as_member(who).get(who.to("lessons:round", sent.pk)).text
    sent.refresh_from_db()
    assert sent.sent_at


def test_a_teacher_whose_page_came_just_before_is_told(sent, student, teacher, as_member):
    back(as_member(student), sent)
    answer = as_member(teacher).post(
        teacher.to("lessons:answer", sent.pk), {"words": "Well tied.", "decision": "rest"}
    )
    assert "with its student again" in answer.text
    assert "Well tied." in answer.text


# --- what went ------------------------------------------------------------------------------------


def test_what_went_is_said_in_a_line(sent, student, as_member):
    sent.photos.set([make.ready_photo(sent.reed), make.ready_photo(sent.reed)])
    text = page(as_member(student), sent)
    for part in ("2 photos", "1 number", "the playing test", "your question"):
        assert part in text
    assert "recording" not in text.split("The answer will lie")[0].split("What went")[1]


# --- when an answer is usual ----------------------------------------------------------------------


def waited(hours, student=1):
    return Answered(student, NOON, NOON + dt.timedelta(hours=hours))


def test_the_usual_wait_is_the_middle_and_eight_of_ten():
    rounds = [waited(hours, student) for hours in range(1, 12) for student in (1, 2, 3)]
    it = usual_wait(rounds, student=9)
    hours = [part / dt.timedelta(hours=1) for part in (it.short, it.middle, it.long)]
    assert (it.n, hours) == (33, [2, 6, 10])


def test_of_few_rounds_or_few_students_nothing_is_said():
    assert usual_wait([waited(5, student) for student in range(FEWEST - 1)], student=0) is None
    assert usual_wait([waited(5, 1 + k % 2) for k in range(20)], student=9) is None
    mine = usual_wait([waited(5, 1)] * FEWEST + [waited(90, 2)] * 9, student=1)
    assert (mine.n, mine.long) == (FEWEST, dt.timedelta(hours=5))  # of one's own, enough is enough


def test_the_page_says_it_of_this_studio_alone(sent, student, other_student, stranger, as_member):
    def answered(owner, hours):
        now = timezone.now()
        reed = make.ReedFactory(owner=owner)
        make.SubmissionFactory(reed=reed, sent_at=now - dt.timedelta(hours=hours), answered_at=now)

    for _ in range(9):
        answered(stranger, 500)
    assert "of the answers here" not in page(as_member(student), sent)
    for owner in (student, other_student, make.student(studio=student.studio)):
        for _ in range(3):
            answered(owner, 71.5)
    text = " ".join(page(as_member(student), sent).split())
    assert "within 3 days, eight of ten after 3 days to 3 days (the last 9 rounds)" in text
