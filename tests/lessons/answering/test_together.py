"""Several alike answered at once: each with its own number, told as one, taken back as one."""

import uuid

import pytest
from django.core import mail
from django.utils import timezone

from lessons.answering import actions
from lessons.answering.models import Answer, Mark, Written
from lessons.sending.models import Submission
from reeds.reed.actions import take_out
from tests import factories as make

ALL = {
    "words": "Reed [number] is tied well.",
    "decision": "rest",
    "next_step": "Write a date beside [number].",
    "caution": "",
}


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


@pytest.fixture
def blanks(student):
    """Four blanks of one batch that wait."""
    batch = uuid.uuid4()
    reeds = [make.ReedFactory(owner=student, batch=batch, number=number) for number in (11, 12, 13, 14)]
    return [make.sent_round(student, reed=reed) for reed in reeds]


def send(client, teacher, rounds, **more):
    first, *others = rounds
    data = {**ALL, "also": [row.pk for row in others], **more}
    return client.post(teacher.to("lessons:answer", first.pk), data, follow=True)


def words():
    rows = Answer.objects.sent().order_by("submission__reed__number")
    return list(rows.values_list("words", flat=True))


def waiting():
    return list(Submission.objects.waiting().order_by("pk"))


def test_the_queue_offers_blanks_of_one_batch_and_opens_the_chosen_together(desk, teacher, blanks, student):
    alone = make.sent_round(student)
    page = desk.get(teacher.to("lessons:queue")).content.decode()
    assert page.count("with 3 more of its batch") == 4
    assert page.count("data-choose") == 5
    chosen = [blanks[0].pk, alone.pk, blanks[2].pk]
    opened = desk.get(teacher.to("lessons:together"), {"reed": chosen}, follow=True)
    assert opened.context["submission"] == blanks[0]
    assert [one.submission for one in opened.context["alike"]] == [alone, blanks[2]]
    assert "Send to all, next reed" in opened.content.decode()


def test_a_choice_of_the_queue_is_kept_on_the_way(desk, teacher, blanks, student):
    asked = {"reed": [blanks[0].pk, blanks[1].pk], "student": student.pk}
    answer = desk.get(teacher.to("lessons:together"), asked)
    assert answer["Location"].endswith(f"?student={student.pk}&also={blanks[1].pk}")


def test_chosen_none_leads_back_and_chosen_one_is_a_plain_review(desk, teacher, blanks):
    assert desk.get(teacher.to("lessons:together"))["Location"] == teacher.to("lessons:queue")
    one = desk.get(teacher.to("lessons:together"), {"reed": blanks[0].pk})
    assert one["Location"] == teacher.to("lessons:review", blanks[0].pk)


def test_each_reed_is_answered_with_its_own_number_and_the_mark_stays_where_it_was_drawn(
    desk, teacher, blanks
):
    own = actions.answer_of(blanks[0], teacher)
    photo = blanks[0].photos.get()
    Mark.objects.create(studio=teacher.studio, answer=own, photo=photo, annotation=make.mark())
    page = send(desk, teacher, blanks)
    assert words() == [f"Reed {n} is tied well." for n in (11, 12, 13, 14)]
    steps = Answer.objects.order_by("submission__reed__number").values_list("next_step", flat=True)
    assert list(steps) == [f"Write a date beside {n}." for n in (11, 12, 13, 14)]
    assert waiting() == []
    assert Mark.objects.get().answer == own
    assert "Reeds 11, 12, 13, 14 of" in page.content.decode()


def test_its_student_reads_each_and_is_led_from_one_to_the_others(desk, teacher, blanks, as_member, student):
    send(desk, teacher, blanks)
    page = as_member(student).get(student.to("lessons:round", blanks[1].pk)).content.decode()
    assert "Reed 12 is tied well." in page
    assert student.to("lessons:round", blanks[0].pk) in page


def test_another_students_reed_answered_with_it_is_not_told(desk, teacher, blanks, as_member, other_student):
    theirs = make.sent_round(other_student)
    send(desk, teacher, [*blanks, theirs])
    page = as_member(other_student).get(other_student.to("lessons:round", theirs.pk))
    assert page.context["sent_alike"] == []
    assert f"Reed {theirs.reed.number} is tied well." in page.content.decode()


def test_without_an_outcome_nothing_is_sent_and_the_choice_stays(desk, teacher, blanks):
    page = send(desk, teacher, blanks, decision="")
    assert page.status_code == 422
    assert len(page.context["alike"]) == 3
    assert words() == []
    assert len(waiting()) == 4


def test_twice_at_once_is_once(desk, teacher, blanks):
    own = actions.answer_of(blanks[0], teacher)
    actions.keep_answer(own, Written("Reed [number].", "rest"))
    assert actions.send_together(own, blanks[1:]) == []
    before = list(Answer.objects.values_list("sent_at", "together"))
    assert actions.send_together(own, blanks[1:]) == []
    assert list(Answer.objects.values_list("sent_at", "together")) == before


def colleague_answers(row, teacher):
    answer = actions.answer_of(row, make.teacher(studio=teacher.studio))
    actions.keep_answer(answer, Written("Mine.", "play"))
    actions.send_answer(answer)


def begun(row, teacher):
    actions.keep_answer(actions.answer_of(row, teacher), Written("Quite another thing."))


MEANWHILE = {
    "it was answered meanwhile": colleague_answers,
    "the student has taken it out": lambda row, _teacher: take_out(row.reed),
    "Colleague has it": lambda row, teacher: actions.claim(
        row, make.teacher(studio=teacher.studio, person__name="Colleague")
    ),
    "a newer round of it has come": lambda row, _teacher: make.sent_round(
        row.student, reed=row.reed, round=2
    ),
    "you have begun an answer of its own": begun,
}


@pytest.mark.parametrize("why", MEANWHILE)
def test_what_happened_meanwhile_leaves_a_round_out_with_a_sentence(why, desk, teacher, blanks):
    MEANWHILE[why](blanks[2], teacher)
    page = send(desk, teacher, blanks)
    text = page.content.decode()
    assert f"Not sent to reed 13 of {blanks[2].student}: {why}." in text
    assert text.count("Not sent to reed") == 1
    mine = Answer.objects.sent().filter(author=teacher)
    assert set(mine.values_list("submission__reed__number", flat=True)) == {11, 12, 14}
    assert Answer.objects.filter(submission=blanks[2], author=teacher).exclude(words="").count() == (
        1 if "begun" in why else 0
    )


def test_what_is_left_out_is_said_on_the_review_before_it_is_sent(desk, teacher, blanks):
    colleague_answers(blanks[2], teacher)
    address = teacher.to("lessons:review", blanks[0].pk)
    page = desk.get(address, {"also": [row.pk for row in blanks[1:]]}).content.decode()
    assert "it was answered meanwhile" in page
    assert page.count('name="also"') == 2


def test_it_is_taken_back_as_one_and_sent_again_with_each_number(desk, teacher, blanks):
    send(desk, teacher, blanks)
    back = desk.post(teacher.to("lessons:take_back", blanks[2].pk))
    assert [int(one) for one in back["Location"].split("?")[1].replace("also=", "").split("&")] == [
        row.pk for row in blanks if row != blanks[2]
    ]
    assert len(waiting()) == 4
    assert set(Answer.objects.values_list("words", "sent_at")) == {(ALL["words"], None)}
    send(desk, teacher, blanks, words="Now [number] rests.")
    assert words() == [f"Now {n} rests." for n in (11, 12, 13, 14)]


def test_taking_back_leaves_a_round_answered_that_a_colleague_answered_too(desk, teacher, blanks):
    send(desk, teacher, blanks)
    colleague_answers(blanks[1], teacher)
    actions.take_answer_back(Answer.objects.get(submission=blanks[0]))
    assert waiting() == [blanks[0], blanks[2], blanks[3]]


def test_the_student_is_told_of_all_in_one_email(
    desk, teacher, blanks, other_student, django_capture_on_commit_callbacks
):
    theirs = make.sent_round(other_student)
    with django_capture_on_commit_callbacks(execute=True):
        send(desk, teacher, [*blanks, theirs])
    assert len(mail.outbox) == 2
    (own,) = [one for one in mail.outbox if one.to == [blanks[0].student.person.email]]
    assert own.subject == "Answered: reeds 11, 12, 13, 14"
    assert all(teacher.to("lessons:round", row.pk) in own.body for row in blanks)


def test_a_single_answer_says_the_number_too(desk, teacher, blanks):
    send(desk, teacher, blanks[:1])
    assert words() == ["Reed 11 is tied well."]
    actions.take_answer_back(Answer.objects.get())
    assert Answer.objects.get().words == ALL["words"]


@pytest.mark.parametrize("given", ["foreign", "draft", "0", "x", "9" * 30, "too many"])
def test_what_is_no_round_of_the_studio_is_not_found_and_nothing_is_sent(
    given, desk, teacher, blanks, stranger
):
    rows = {
        "foreign": make.sent_round(make.student(studio=stranger.studio)).pk,
        "draft": make.SubmissionFactory(reed=make.ReedFactory(owner=blanks[0].student)).pk,
    }
    also = list(range(1, 99)) if given == "too many" else [rows.get(given, given)]
    answer = desk.post(teacher.to("lessons:answer", blanks[0].pk), {**ALL, "also": also})
    assert answer.status_code == 404
    assert words() == []
    assert desk.get(teacher.to("lessons:together"), {"reed": also}).status_code == 404


def test_only_teachers_choose_several(as_member, student, teacher, stranger, blanks):
    asked = {"reed": [row.pk for row in blanks]}
    assert as_member(student).get(student.to("lessons:together"), asked).status_code == 404
    assert as_member(stranger).get(stranger.to("lessons:together"), asked).status_code == 404
    assert as_member(stranger).get(teacher.to("lessons:together"), asked).status_code == 404


def test_an_address_that_names_rounds_left_out_tells_nothing_of_another_studio(desk, teacher, stranger):
    theirs = make.sent_round(make.student(studio=stranger.studio), answered_at=timezone.now())
    page = desk.get(teacher.to("lessons:queue"), {"skipped": [theirs.pk, "x"]})
    assert page.context["left_out"] == []
