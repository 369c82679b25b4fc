"""One round on one screen: who sees it, what is on it, how an answer grows and is sent."""

import datetime as dt
import re

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from lessons.answering import actions
from lessons.answering.models import Answer, Looking, Reply, Written
from lessons.sending.models import Submission
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from tests import factories as make

WRITTEN = {"words": "Let it dry.", "decision": "rest", "next_step": "Wait a week.", "caution": ""}
POSTED = ["looking", "claim", "mark", "drop_mark", "keep", "answer", "take_back"]


@pytest.fixture
def desk(as_member, teacher):
    return as_member(teacher)


@pytest.fixture
def sent(student):
    return make.sent_round(student, question="What now?")


def post(client, member, name, pk, data=None, **more):
    return client.post(member.to(f"lessons:{name}", pk), data or {}, **more)


def measured(row, **numbers):
    for quantity, value in numbers.items():
        made = Measurement.objects.create(
            studio=row.studio,
            reed=row.reed,
            quantity=quantity,
            value=value,
            u=0.2,
            method="ruler",
            stage=row.stage,
        )
        row.measurements.add(made)


def test_a_teacher_opens_a_round_with_everything_about_it(desk, teacher, sent):
    page = desk.get(teacher.to("lessons:review", sent.pk))
    text = page.content.decode()
    assert page.status_code == 200
    for part in ("What now?", "data-stage", "let it rest", "The one next step"):
        assert part in text
    assert f'hx-post="{teacher.to("lessons:looking", sent.pk)}" hx-trigger="load, every 20s"' in text
    post(desk, teacher, "looking", sent.pk)
    assert Looking.objects.get().member == teacher


@pytest.mark.parametrize("name", ["review", *POSTED])
def test_a_student_and_a_stranger_find_no_such_page(name, as_member, student, stranger, sent):
    for who in (student, stranger):
        client, address = as_member(who), student.to(f"lessons:{name}", sent.pk)
        asked = client.get(address) if name == "review" else client.post(address, WRITTEN)
        assert asked.status_code == 404
    assert not Answer.objects.exists()


@pytest.mark.parametrize("name", POSTED)
def test_what_changes_something_is_not_got(name, desk, teacher, sent):
    assert desk.get(teacher.to(f"lessons:{name}", sent.pk)).status_code == 405


def test_a_draft_cannot_be_looked_at(desk, teacher, student):
    draft = make.SubmissionFactory(reed=make.ReedFactory(owner=student))
    assert desk.get(teacher.to("lessons:review", draft.pk)).status_code == 404


def test_the_last_round_and_the_reed_before_stand_beside_it(desk, teacher, student):
    before = make.sent_round(student, days=20)
    reed = make.ReedFactory(owner=student)
    first = make.sent_round(student, reed=reed, days=9)
    now = make.sent_round(student, reed=reed, round=2)
    for row, length in ((before, 71.1), (first, 72.4), (now, 72.9)):
        measured(row, tie_length=length)
    text = desk.get(teacher.to("lessons:beside", now.pk)).content.decode()
    rest = desk.get(teacher.to("lessons:rest", now.pk)).content.decode()
    for number in ("71.1", "72.4", "72.9", f"reed {before.reed.number}", "round 1"):
        assert number in rest
    assert text.count("data-beside-photo=") == 2


def test_the_reed_before_is_the_one_made_before_whenever_it_was_sent(desk, teacher, student):
    older, before, reed, after = (make.ReedFactory(owner=student, number=n) for n in (3, 4, 5, 6))
    Reed.objects.update(made_at=timezone.now())  # of one day: the number tells which was made before
    now = make.sent_round(student, reed=reed, days=9)
    for other, days in ((older, 1), (before, 3), (after, 12)):
        make.sent_round(student, reed=other, days=days)
    beside = desk.get(teacher.to("lessons:beside", now.pk)).context["beside"]
    assert beside.previous.reed == before


def test_another_students_reed_never_stands_beside_it(desk, teacher, student, other_student):
    make.sent_round(other_student, days=20)
    now = make.sent_round(student)
    assert "data-beside-photo=" not in desk.get(teacher.to("lessons:beside", now.pk)).content.decode()


def test_the_usual_next_step_of_what_was_found_is_proposed_with_its_caution(desk, teacher, student):
    reed = make.ReedFactory(owner=student, stage="bound")
    row = make.sent_round(student, reed=reed)
    make_word = {"studio": row.studio, "reed": reed, "quantity": "airtight", "word": "no", "method": "eye"}
    Measurement.objects.create(**make_word, stage="bound")
    first = desk.get(teacher.to("lessons:review", row.pk)).context["steps"].at_once[0]
    assert first.words.startswith("Do not scrape on")
    assert "Thread under tension" in first.caution


def test_no_step_of_the_long_scrape_is_proposed_for_a_short_one(desk, teacher, sent):
    steps = desk.get(teacher.to("lessons:review", sent.pk)).context["steps"]
    steps = [step.words for step in steps.others]
    assert "Take a little just under the tip." in steps
    assert not any("rails" in words for words in steps)


def test_the_queries_are_as_many_for_one_photo_as_for_eight(desk, teacher, student):
    """Fourteen; where something came since it was sent, what the checks say now costs five more."""

    def queries(row):
        desk.get(teacher.to("lessons:review", row.pk))  # that it was opened is written down once
        with CaptureQueriesContext(connection) as counted:
            assert desk.get(teacher.to("lessons:review", row.pk)).status_code == 200
        return len(counted)

    def history(owner, rounds, photos, quantities):
        make.sent_round(owner, days=60, photos=photos)
        reed = make.ReedFactory(owner=owner)
        for n in range(rounds):
            row = make.sent_round(owner, reed=reed, round=n + 1, days=50 - n, photos=photos)
            measured(row, **quantities)
            answer = actions.answer_of(row, make.teacher(studio=owner.studio))
            Answer.objects.filter(pk=answer.pk).update(sent_at=timezone.now())
        post(desk, teacher, "keep", row.pk)  # the teacher's own answer is begun
        return row

    few = history(student, 2, 1, {"tie_length": 72})
    many = history(
        make.student(studio=teacher.studio),
        6,
        8,
        {"tie_length": 72, "overall_length": 71, "tip_length": 2.5, "tip_width": 7},
    )
    assert 14 < queries(few) == queries(many) <= 19
    Measurement.objects.update(entered_at=few.sent_at - dt.timedelta(days=20))
    assert 5 < queries(few) == queries(many) <= 14


# --- the answer ---


def test_a_round_only_looked_at_has_no_answer(desk, teacher, sent):
    desk.get(teacher.to("lessons:review", sent.pk))
    assert not Answer.objects.exists()
    assert not Looking.objects.exists()


def test_the_words_are_kept_as_they_grow(desk, teacher, sent):
    kept = post(desk, teacher, "keep", sent.pk, {"words": "Let it"})
    assert "kept" in kept.json()
    answer = Answer.objects.get()
    assert (answer.words, answer.sent_at) == ("Let it", None)
    assert "Let it</textarea>" in desk.get(teacher.to("lessons:review", sent.pk)).content.decode()


@pytest.mark.parametrize("bad", [{"decision": "burn"}, {"words": "a" * 5001}, {"next_step": "a" * 501}])
def test_what_cannot_be_kept_is_said_in_a_sentence(bad, desk, teacher, sent):
    refused = post(desk, teacher, "keep", sent.pk, {**WRITTEN, **bad})
    assert refused.status_code == 422
    assert refused.json()["refusal"]


def test_sending_answers_the_round_and_opens_the_next_reed(desk, teacher, student, sent):
    following = make.sent_round(student)
    answer = post(desk, teacher, "answer", sent.pk, WRITTEN)
    assert answer.url == teacher.to("lessons:review", following.pk)
    sent.refresh_from_db()
    kept = Answer.objects.get()
    assert sent.answered_at == kept.sent_at is not None
    assert (kept.words, kept.decision, kept.next_step) == ("Let it dry.", "rest", "Wait a week.")


def test_after_the_last_reed_comes_the_queue(desk, teacher, sent):
    assert post(desk, teacher, "answer", sent.pk, WRITTEN).url == teacher.to("lessons:queue")


def test_the_next_reed_is_one_of_those_that_were_chosen_in_the_queue(desk, teacher, student, other_student):
    first = make.sent_round(student, days=2)
    make.sent_round(other_student, need=20)
    second = make.sent_round(student)
    chosen = f"?student={student.pk}"
    assert (
        teacher.to("lessons:review", first.pk) + chosen
        in desk.get(teacher.to("lessons:queue") + chosen).content.decode()
    )
    page = desk.get(teacher.to("lessons:review", first.pk) + chosen).content.decode()
    assert f'action="{teacher.to("lessons:answer", first.pk)}{chosen}"' in page
    sent = desk.post(teacher.to("lessons:answer", first.pk) + chosen, WRITTEN)
    assert sent.url == teacher.to("lessons:review", second.pk) + chosen
    sent = desk.post(teacher.to("lessons:answer", second.pk) + chosen, WRITTEN)
    assert sent.url == teacher.to("lessons:queue") + chosen


def test_a_reed_that_another_teacher_has_is_not_the_next(desk, teacher, student, sent):
    actions.claim(make.sent_round(student), make.teacher(studio=teacher.studio))
    assert post(desk, teacher, "answer", sent.pk, WRITTEN).url == teacher.to("lessons:queue")


def test_without_an_outcome_it_is_not_sent_and_the_words_stay(desk, teacher, sent):
    page = post(desk, teacher, "answer", sent.pk, {**WRITTEN, "decision": ""})
    assert page.status_code == 422
    text = page.content.decode()
    assert "Choose what is to become of the reed." in text
    assert "Let it dry.</textarea>" in text
    assert Submission.objects.get().is_waiting


def test_sending_twice_sends_once(desk, teacher, sent):
    post(desk, teacher, "answer", sent.pk, WRITTEN)
    first = Answer.objects.get().sent_at
    page = post(desk, teacher, "answer", sent.pk, {**WRITTEN, "words": "other"})
    assert page.status_code == 422
    again = Answer.objects.get()
    assert (again.sent_at, again.words) == (first, "Let it dry.")


def test_an_answer_whose_reply_was_lost_is_sent_again_as_one_and_goes_on(desk, teacher, sent):
    first, again = (post(desk, teacher, "answer", sent.pk, WRITTEN, follow=True) for _try in range(2))
    assert again.status_code == 200
    assert again.redirect_chain == first.redirect_chain
    assert Answer.objects.count() == 1


def test_an_answer_is_taken_back_and_its_words_stay_as_a_draft(desk, teacher, sent):
    post(desk, teacher, "answer", sent.pk, WRITTEN)
    queue = desk.get(teacher.to("lessons:queue")).content.decode()
    assert teacher.to("lessons:take_back", sent.pk) in queue
    assert post(desk, teacher, "take_back", sent.pk).url == teacher.to("lessons:review", sent.pk)
    answer = Answer.objects.get()
    assert (answer.sent_at, answer.words) == (None, "Let it dry.")
    assert Submission.objects.get().is_waiting


def test_after_five_minutes_it_cannot_be_taken_back(desk, teacher, sent):
    post(desk, teacher, "answer", sent.pk, WRITTEN)
    with time_machine.travel(timezone.now() + dt.timedelta(minutes=6), tick=False):
        page = post(desk, teacher, "take_back", sent.pk)
        assert "Undo" not in desk.get(teacher.to("lessons:queue")).content.decode()
    assert page.status_code == 422
    assert "too long ago" in page.content.decode()
    assert not Submission.objects.get().is_waiting


def test_what_one_takes_back_stays_answered_by_the_other(desk, teacher, sent):
    other = make.teacher(studio=teacher.studio)
    theirs = actions.answer_of(sent, other)
    actions.keep_answer(theirs, Written(words="Mine", decision="play"))
    actions.send_answer(theirs)
    post(desk, teacher, "answer", sent.pk, WRITTEN)
    post(desk, teacher, "take_back", sent.pk)
    assert not Submission.objects.get().is_waiting


def test_two_windows_of_one_teacher_never_overwrite_each_other_unasked(desk, teacher, sent):
    def since():
        return Answer.objects.get().saved_at.isoformat()

    page = desk.get(teacher.to("lessons:review", sent.pk)).content.decode()
    old = re.search(r'name="since" value="([^"]+)"', page)[1]
    post(desk, teacher, "keep", sent.pk, {**WRITTEN, "words": "From the desk", "since": old})
    refused = post(desk, teacher, "keep", sent.pk, {**WRITTEN, "words": "From the tablet", "since": old})
    assert refused.status_code == 422
    assert "From the desk" in refused.json()["refusal"]
    page = post(desk, teacher, "answer", sent.pk, {**WRITTEN, "words": "", "since": old})
    assert (page.status_code, Answer.objects.get().words) == (422, "From the desk")
    assert f'name="since" value="{since()}"' in page.content.decode()
    post(desk, teacher, "answer", sent.pk, {**WRITTEN, "words": "From the tablet", "since": since()})
    assert Answer.objects.sent().get().words == "From the tablet"


def test_a_further_answer_is_new_to_the_student_again(teacher, sent):
    for author in (teacher, make.teacher(studio=teacher.studio)):
        answer = actions.answer_of(sent, author)
        actions.keep_answer(answer, Written(decision="play"))
        actions.send_answer(answer)
        sent.refresh_from_db()
        assert sent.is_new
        Submission.objects.update(read_at=timezone.now())


def test_a_round_without_a_photo_is_answered_all_the_same(desk, teacher, student):
    row = make.sent_round(student, photos=0)
    page = desk.get(teacher.to("lessons:review", row.pk))
    assert "No photo was sent" in page.content.decode()
    assert post(desk, teacher, "answer", row.pk, WRITTEN).status_code == 302


def test_what_the_student_said_back_stands_beside_the_next_round(desk, teacher, student):
    reed = make.ReedFactory(owner=student)
    first = make.sent_round(student, reed=reed, days=9)
    Reply.objects.create(studio=first.studio, submission=first, by=student, words="It cracked.")
    now = make.sent_round(student, reed=reed, round=2)
    assert "It cracked." in desk.get(teacher.to("lessons:review", now.pk)).content.decode()


# --- a reed taken out meanwhile ---


@pytest.mark.parametrize("name", ["keep", "mark", "drop_mark"])
def test_a_reed_taken_out_is_told_to_the_page_under_the_teachers_hands(name, desk, teacher, sent):
    type(sent.reed).objects.filter(pk=sent.reed_id).update(taken_out_at=timezone.now())
    told = post(desk, teacher, name, sent.pk, WRITTEN)
    assert told.status_code == 422
    assert "taken this reed out" in told.json()["refusal"]


def test_an_answer_to_a_reed_taken_out_gives_the_words_back(desk, teacher, sent):
    type(sent.reed).objects.filter(pk=sent.reed_id).update(taken_out_at=timezone.now())
    page = post(desk, teacher, "answer", sent.pk, WRITTEN)
    text = page.content.decode()
    assert page.status_code == 422
    assert "taken this reed out" in text
    assert "Let it dry." in text
    assert "taken this reed out" in post(desk, teacher, "looking", sent.pk).content.decode()


# --- two teachers ---


def test_two_teachers_are_told_of_each_other(desk, as_member, teacher, sent):
    other = make.teacher(studio=teacher.studio)
    post(as_member(other), other, "looking", sent.pk)
    text = post(desk, teacher, "looking", sent.pk).content.decode()
    assert f"{other} is looking at this one too" in text


def test_nothing_is_read_out_again_while_nothing_is_new(desk, teacher, sent):
    state = desk.get(teacher.to("lessons:review", sent.pk)).context["looking"].state
    assert post(desk, teacher, "looking", sent.pk, {"state": state}).status_code == 204
    actions.look(sent, make.teacher(studio=teacher.studio))
    assert post(desk, teacher, "looking", sent.pk, {"state": state}).status_code == 200


def test_who_left_a_while_ago_is_not_looking(desk, teacher, sent):
    other = make.teacher(studio=teacher.studio)
    with time_machine.travel(timezone.now() - dt.timedelta(minutes=5)):
        actions.look(sent, other)
    assert "looking at this one too" not in post(desk, teacher, "looking", sent.pk).content.decode()


def test_neither_teachers_words_are_lost_and_both_may_send(desk, as_member, teacher, sent):
    other = make.teacher(studio=teacher.studio)
    second = as_member(other)
    post(desk, teacher, "keep", sent.pk, {**WRITTEN, "words": "One"})
    post(second, other, "keep", sent.pk, {**WRITTEN, "words": "Two"})
    post(second, other, "answer", sent.pk, {**WRITTEN, "words": "Two"})
    assert f"{other} has answered this one" in post(desk, teacher, "looking", sent.pk).content.decode()
    post(desk, teacher, "answer", sent.pk, {**WRITTEN, "words": "One"})
    assert sorted(Answer.objects.sent().values_list("words", flat=True)) == ["One", "Two"]


def test_i_have_this_one_is_one_teachers_until_another_takes_it_over(desk, as_member, teacher, sent):
    other = make.teacher(studio=teacher.studio)
    second = as_member(other)
    htmx = {"headers": {"HX-Request": "true"}}
    post(desk, teacher, "claim", sent.pk, **htmx)
    refused = post(second, other, "claim", sent.pk, **htmx).content.decode()
    assert f"{teacher} has this one already." in refused
    assert Looking.objects.get(has_it=True).member == teacher
    post(second, other, "claim", sent.pk, {"over": "1"}, **htmx)
    assert Looking.objects.get(has_it=True).member == other
    post(second, other, "claim", sent.pk, {"let_go": "1"}, **htmx)
    assert not Looking.objects.filter(has_it=True).exists()
