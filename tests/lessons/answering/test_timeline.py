"""Rounds and answers in a reed's timeline."""

from __future__ import annotations

from django.utils import timezone

from lessons.answering.models import Answer
from tests import factories as make


def test_rounds_and_answers_that_were_sent_stand_in_the_reeds_life(student, teacher, as_member):
    now = timezone.now()
    sent = make.SubmissionFactory(reed__owner=student, sent_at=now, question="is it too long?")
    address = student.to("reeds:reed", sent.reed_id)
    answer = Answer.objects.create(
        studio=student.studio, submission=sent, author=teacher, decision="rest", next_step="leave it a week"
    )
    page = as_member(student).get(address).content.decode()
    assert "Sent, round 1" in page
    assert "is it too long?" in page
    assert "Answer to round 1" not in page
    Answer.objects.filter(pk=answer.pk).update(sent_at=now)
    page = as_member(student).get(address).content.decode()
    assert "Answer to round 1" in page
    assert "leave it a week" in page


def test_draft_is_no_moment(student, as_member):
    draft = make.SubmissionFactory(reed__owner=student)
    page = as_member(student).get(student.to("reeds:reed", draft.reed_id)).content.decode()
    assert "Sent, round" not in page


def test_page_asks_as_often_for_many_rounds_as_for_one(
    student, teacher, as_member, django_assert_max_num_queries
):
    reed, now = make.ReedFactory(owner=student), timezone.now()
    client, address = as_member(student), student.to("reeds:reed", reed.pk)

    def sent(n: int) -> None:
        one = make.SubmissionFactory(reed=reed, sent_at=now, round=n)
        Answer.objects.create(studio=student.studio, submission=one, author=teacher, sent_at=now)

    sent(1)
    with django_assert_max_num_queries(30) as few:
        client.get(address)
    for n in range(2, 8):
        sent(n)
    with django_assert_max_num_queries(len(few)):
        page = client.get(address).content.decode()
    assert page.count("Answer to round") == 7
