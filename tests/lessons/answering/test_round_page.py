"""A round as its student sees it: the answer first, then what was sent; replies and the next round."""

import re
import uuid

import pytest
from django.utils import timezone

from lessons.answering.models import Answer, Mark, Reply
from lessons.sending.models import Submission
from reeds.photo.models.photo import Photo, PhotoState
from tests import factories as make


@pytest.fixture
def round_(student, as_member):
    reed = make.ReedFactory(owner=student, stage="tied", number=7)
    data = {"tie_length": "75", "plays-crow": "2", "effort": "4", "airtight": "yes", "question": "Too long?"}
    as_member(student).post(student.to("lessons:go", reed.pk), data)
    return Submission.objects.get(reed=reed)


def answered(round_, teacher, **given):
    now = timezone.now()
    Submission.objects.filter(pk=round_.pk).update(answered_at=now)
    words = {
        "words": "Well tied.",
        "decision": "work",
        "next_step": "Measure once more.",
        "caution": "Blade away.",
    }
    return Answer.objects.create(
        studio=round_.studio, submission=round_, author=teacher, sent_at=now, **{**words, **given}
    )


def page(client, round_):
    return client.get(round_.student.to("lessons:round", round_.pk))


READ = "I have read it"


def read_as_its_page_says(client, round_):
    """Open the page and send what it sends by itself when it is open."""
    address = round_.student.to("lessons:read", round_.pk)
    assert f'hx-post="{address}" hx-trigger="load"' in page(client, round_).content.decode()
    return client.post(address, headers={"HX-Request": "true"})


def test_the_student_sees_what_was_sent_with_its_doubt(round_, as_member, student):
    text = page(as_member(student), round_).content.decode()
    for part in (
        "75.0 ± 0.2 mm",
        "Too long?",
        "crow, the reed alone",
        "speaks seldom",
        "hard",
        "above",
        "yes",
    ):
        assert part in text
    assert "The answer will lie on your desk" in text


def test_the_student_sees_the_next_step_with_its_caution(round_, as_member, student, teacher):
    answered(round_, teacher)
    text = page(as_member(student), round_).content.decode()
    for part in ("Work on it", "Well tied.", "Measure once more.", "Blade away."):
        assert part in text
    assert "Send round 2 of this reed" in text


def test_the_title_names_the_reed_and_the_outcome_and_nobody(round_, as_member, student, teacher):
    def title(member, name):
        html = as_member(member).get(member.to(name, round_.pk)).content.decode()
        return " ".join(re.search("<title>(.*?)</title>", html, re.S)[1].split())

    answered(round_, teacher, decision="rest")
    assert title(student, "lessons:round").startswith("Reed 7, round 1: let it rest")
    assert title(teacher, "lessons:review").startswith("Reed 7, round 1")
    assert str(student) not in title(teacher, "lessons:review")


def test_an_answer_that_is_not_sent_is_not_shown(round_, as_member, student, teacher):
    answered(round_, teacher)
    Answer.objects.update(sent_at=None)
    assert "Well tied." not in page(as_member(student), round_).content.decode()


def test_two_teachers_answers_are_both_shown(round_, as_member, student, teacher):
    answered(round_, teacher)
    answered(round_, make.teacher(studio=teacher.studio), words="Let it lie.")
    text = page(as_member(student), round_).content.decode()
    assert "Well tied." in text
    assert "Let it lie." in text


def test_a_round_is_new_until_its_student_opened_the_answer(round_, as_member, student, teacher):
    page(as_member(student), round_)
    answered(round_, teacher)
    page(as_member(teacher), round_)
    round_.refresh_from_db()
    assert round_.is_new
    answer = read_as_its_page_says(as_member(student), round_)
    assert answer.status_code == 204
    round_.refresh_from_db()
    assert not round_.is_new
    assert READ not in page(as_member(student), round_).content.decode()


def test_a_teachers_look_is_not_the_students(round_, as_member, student, teacher):
    answered(round_, teacher)
    assert READ not in page(as_member(teacher), round_).content.decode()
    as_member(teacher).post(student.to("lessons:read", round_.pk))
    round_.refresh_from_db()
    assert round_.is_new


def test_without_a_script_a_tap_says_that_it_was_read(round_, as_member, student, teacher):
    answered(round_, teacher)
    assert READ in page(as_member(student), round_).content.decode()
    answer = as_member(student).post(student.to("lessons:read", round_.pk))
    assert answer.url == student.to("lessons:round", round_.pk)
    round_.refresh_from_db()
    assert not round_.is_new


def test_who_says_something_back_has_read_it(round_, as_member, student, teacher):
    answered(round_, teacher)
    data = {"words": "I will.", "key": str(uuid.uuid4())}
    as_member(student).post(student.to("lessons:reply", round_.pk), data)
    round_.refresh_from_db()
    assert not round_.is_new


def test_a_reply_is_read_when_the_other_side_has_it_open(round_, as_member, student, teacher):
    answered(round_, teacher)
    read_as_its_page_says(as_member(student), round_)
    for by, reader in ((student, teacher), (teacher, student)):
        said = Reply.objects.create(studio=round_.studio, submission=round_, by=by, words="Why?")
        own = page(as_member(by), round_).content.decode()
        assert READ not in own
        as_member(by).post(student.to("lessons:read", round_.pk))
        said.refresh_from_db()
        assert said.read_at is None
        assert READ in page(as_member(reader), round_).content.decode()
        read_as_its_page_says(as_member(reader), round_)
        said.refresh_from_db()
        assert said.read_at is not None
        assert READ not in page(as_member(reader), round_).content.decode()


def test_what_a_teacher_said_back_stands_on_the_students_desk_until_it_is_read(
    round_, as_member, student, other_student, teacher
):
    answered(round_, teacher)
    Reply.objects.create(studio=round_.studio, submission=round_, by=teacher, words="Cut it, then.")
    desk = as_member(student).get(student.to("lessons:desk"))
    assert [one.pk for one in desk.context["unread"].rows] == [round_.pk]
    assert "1 reply" in desk.content.decode()
    fellow = as_member(other_student)
    assert fellow.get(other_student.to("lessons:desk")).context["unread"].rows == []
    assert fellow.post(other_student.to("lessons:read", round_.pk)).status_code == 404
    assert Reply.objects.get().read_at is None
    as_member(student).post(student.to("lessons:read", round_.pk))
    assert as_member(student).get(student.to("lessons:desk")).context["unread"].rows == []


def test_others_find_no_such_round(round_, as_member, other_student, stranger):
    for who in (other_student, stranger):
        assert page(as_member(who), round_).status_code == 404
        assert (
            as_member(who).post(round_.student.to("lessons:reply", round_.pk), {"words": "?"}).status_code
            == 404
        )
    assert not Reply.objects.exists()


def test_a_draft_has_no_such_page(as_member, student, teacher):
    draft = make.SubmissionFactory(reed=make.ReedFactory(owner=student))
    for who in (student, teacher):
        assert page(as_member(who), draft).status_code == 404


def test_the_page_is_got_and_a_reply_is_posted(round_, as_member, student):
    client = as_member(student)
    assert client.post(student.to("lessons:round", round_.pk)).status_code == 405
    assert client.get(student.to("lessons:reply", round_.pk)).status_code == 405
    assert client.get(student.to("lessons:read", round_.pk)).status_code == 405


def test_a_reply_sent_twice_is_said_once(round_, as_member, student, teacher):
    answered(round_, teacher)
    data = {"words": "I will. Thank you.", "key": str(uuid.uuid4())}
    for _tap in range(2):
        assert as_member(student).post(student.to("lessons:reply", round_.pk), data).status_code == 302
    assert Reply.objects.count() == 1
    assert "I will. Thank you." in page(as_member(teacher), round_).content.decode()


def test_an_empty_reply_is_asked_back(round_, as_member, student, teacher):
    answered(round_, teacher)
    answer = as_member(student).post(
        student.to("lessons:reply", round_.pk), {"words": " ", "key": str(uuid.uuid4())}
    )
    assert answer.status_code == 422
    assert "Write something first." in answer.content.decode()


def test_a_reply_with_a_broken_key_keeps_its_words(round_, as_member, student, teacher):
    answered(round_, teacher)
    answer = as_member(student).post(student.to("lessons:reply", round_.pk), {"words": "kept?", "key": "x"})
    assert answer.status_code == 422
    assert "kept?" in answer.content.decode()


def test_a_key_that_another_round_used_says_nothing_there(round_, as_member, student, teacher):
    other = make.SubmissionFactory(reed=make.ReedFactory(owner=student), sent_at=timezone.now())
    key = str(uuid.uuid4())
    for one in (round_, other):
        as_member(student).post(student.to("lessons:reply", one.pk), {"words": "once", "key": key})
    assert Reply.objects.filter(submission=round_).count() == 1


def test_the_next_round_is_numbered_on_and_the_first_stays_linked(round_, as_member, student):
    client = as_member(student)
    client.post(student.to("lessons:go", round_.reed_id), {"tie_length": "72"})
    second = Submission.objects.exclude(pk=round_.pk).get()
    assert second.round == 2
    assert student.to("lessons:round", round_.pk) in page(client, second).content.decode()


def test_a_photo_that_was_refused_says_why(round_, as_member, student):
    photo = make.ready_photo(round_.reed)
    round_.photos.add(photo)
    Photo.objects.update(state=PhotoState.REFUSED, refusal="The file of this photo is gone. Send it again.")
    assert "The file of this photo is gone." in page(as_member(student), round_).content.decode()


def test_the_queries_do_not_grow_with_photos_marks_numbers_and_replies(
    round_, as_member, student, teacher, django_assert_max_num_queries
):
    client = as_member(student)
    answer = answered(round_, teacher)
    page(client, round_)
    counts = []
    for _pass in range(2):
        for _ in range(4):
            round_.photos.add(photo := make.ready_photo(round_.reed))
            Mark.objects.create(studio=round_.studio, answer=answer, photo=photo, annotation=make.mark())
            Reply.objects.create(studio=round_.studio, submission=round_, by=student, words="?")
        with django_assert_max_num_queries(40) as counted:
            page(client, round_)
        counts.append(len(counted.captured_queries))
    assert counts[0] == counts[1]
