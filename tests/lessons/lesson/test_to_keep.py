"""What a student's phone is told to keep: their own, bounded, and nobody else's."""

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from lessons.lesson.pages import kept
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def told(as_member):
    return lambda member: as_member(member).get(member.to("lessons:to_keep")).json()


def answered(student, **given):
    row = make.sent_round(student, **given)
    type(row).objects.filter(pk=row.pk).update(answered_at=timezone.now())
    return row


def test_own_reeds_answers_and_their_small_photos_are_named(told, student, as_member):
    sent = answered(student, photos=2)
    waiting = make.sent_round(student, photos=1)
    own = told(student)
    for name, row in (
        ("reeds:reed", sent.reed),
        ("lessons:draft", sent.reed),
        ("lessons:round", sent),
        ("lessons:round", waiting),
        ("reeds:reed", waiting.reed),
    ):
        assert student.to(name, row.pk) in own["pages"]
    assert own["pages"][0] == student.to("lessons:desk")
    assert [one for one in own["pictures"] if "/screen/" in one] == [
        student.to("reeds:photo", photo.pk, "screen") for photo in sent.photos.order_by("pk")
    ]
    assert student.to("reeds:photo", waiting.photos.get().pk, "thumbnail") in own["pictures"]
    client = as_member(student)
    for address in [*own["pages"], *own["pictures"]]:
        answer = client.get(address)
        assert answer.status_code == 200, address
        if answer.streaming:
            list(answer.streaming_content)
    assert own["leads"][reverse("start")] == student.to("lessons:desk")


def test_others_reeds_and_reeds_that_are_over_are_not(told, student, other_student):
    make.sent_round(other_student)
    over = make.ReedFactory(owner=student, stage="given_up")
    own = told(student)
    assert not [one for one in own["pages"] if f"/reeds/{over.pk}/" in one or "/rounds/" in one]
    assert own["pictures"] == []


def test_what_is_kept_is_bounded(told, student, monkeypatch):
    monkeypatch.setattr(kept, "MOST_REEDS", 2)
    monkeypatch.setattr(kept, "MOST_ANSWERS", 1)
    monkeypatch.setattr(kept, "MOST_PICTURES", 3)
    rounds = [answered(student, photos=2) for _ in range(3)]
    own = told(student)
    assert len([one for one in own["pages"] if "/rounds/" in one]) == 1
    drafts = [one for one in own["pages"] if re.search(r"/send/\d+/$", one)]
    assert len(drafts) == 2
    assert student.to("lessons:round", rounds[-1].pk) in own["pages"]
    for size in ("screen", "thumbnail"):
        assert 0 < len([one for one in own["pictures"] if f"/{size}/" in one]) <= 3


def test_whoever_teaches_or_looks_has_no_such_list(as_member, student, teacher):
    for member in (teacher, make.assistant(studio=teacher.studio), make.guardian(student)):
        assert as_member(member).get(member.to("lessons:to_keep")).status_code == 404


def test_whoever_is_in_two_studios_still_chooses(told, student):
    make.student(person=student.person)
    assert reverse("start") not in told(student)["leads"]
