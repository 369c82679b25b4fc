"""Many studios with many rounds, written by bulk_create: for the bench of the queue, where most is others'.

Every studio has rounds that wait, with questions, photos, lessons to come, things said back and teachers who
have one in hand; the first one has more, so that its queue holds all that a queue can show.
"""

from __future__ import annotations

import datetime as dt
import uuid
from itertools import product

from django.utils import timezone

from lessons.answering.models import Looking, Reply
from lessons.lesson.models import Lesson
from lessons.sending.models import Submission
from reeds.photo.models.photo import Photo, PhotoState
from reeds.reed.models.reed import Reed
from reeds.sheet.models.pattern import Pattern, PatternVersion
from reeds.sheet.starters import SHORT_SCRAPE
from studio.models import Member, Person, Role, Studio

STUDENTS, REEDS_EACH, ROUNDS_EACH = 5, 10, 4
ROUNDS = STUDENTS * REEDS_EACH * ROUNDS_EACH
FOUND = [
    {"check": "limits", "quantity": "tie_length", "outcome": "above", "value": 73.5, "message": "x"},
    {"check": "limits", "quantity": "tip_length", "outcome": "within", "message": "x"},
]


def many_studios(studios: int) -> list[Member]:
    """Write so many studios of 200 rounds, of which the newest of each of 50 reeds waits; return teachers."""
    rows = Studio.objects.bulk_create(Studio(name=f"Studio {k}") for k in range(studios))
    teachers, students = _members(rows)
    versions = _sheets(rows)
    reeds = Reed.objects.bulk_create(
        (
            Reed(studio_id=who.studio_id, owner=who, number=k + 1, version=versions[who.studio_id],
                 stage="playing")
            for who, k in product(students, range(REEDS_EACH))
        ),
        batch_size=2000,
    )  # fmt: skip
    waiting = [round_ for round_ in _rounds(reeds, versions) if round_.answered_at is None]
    _around(waiting[: 4 * STUDENTS * REEDS_EACH], {who.studio_id: who for who in teachers})
    return teachers


def _members(studios):
    """One teacher and five students each."""
    people = Person.objects.bulk_create(
        (
            Person(username=f"many-{one.pk}-{k}", name=f"Person {k}")
            for one, k in product(studios, range(STUDENTS + 1))
        ),
        batch_size=2000,
    )
    each = STUDENTS + 1
    members = Member.objects.bulk_create(
        (
            Member(studio=studios[k // each], person=who, role=Role.STUDENT if k % each else Role.TEACHER)
            for k, who in enumerate(people)
        ),
        batch_size=2000,
    )
    return members[::each], [one for k, one in enumerate(members) if k % each]


def _sheets(studios):
    patterns = Pattern.objects.bulk_create(
        Pattern(studio=one, name="Short", style="short") for one in studios
    )
    data = SHORT_SCRAPE.to_json()
    versions = PatternVersion.objects.bulk_create(
        (PatternVersion(studio_id=one.studio_id, pattern=one, number=1, data=data) for one in patterns),
        batch_size=200,
    )
    return {one.studio_id: one for one in versions}


def _rounds(reeds, versions):
    now = timezone.now()
    return Submission.objects.bulk_create(
        (
            Submission(
                studio_id=reed.studio_id,
                reed=reed,
                student=reed.owner,
                round=k + 1,
                stage=reed.stage,
                version=versions[reed.studio_id],
                question="Is it too open?" if reed.number % 3 == 0 else "",
                findings=FOUND[reed.number % 2 :],
                need=reed.number % 12,
                sent_at=now - dt.timedelta(days=ROUNDS_EACH - k, hours=reed.number),
                answered_at=now - dt.timedelta(days=ROUNDS_EACH - k, hours=-2)
                if k + 1 < ROUNDS_EACH
                else None,
            )
            for reed, k in product(reeds, range(ROUNDS_EACH))
        ),
        batch_size=1000,
    )


def _around(waiting, teachers):
    """What of few studios is enough: photos, lessons, what was said back, and who has a reed in hand."""
    photos = Photo.objects.bulk_create(
        Photo(studio_id=one.studio_id, reed=one.reed, state=PhotoState.READY) for one in waiting
    )
    on = Submission.photos.through
    on.objects.bulk_create(
        on(submission=one, photo=photo) for one, photo in zip(waiting, photos, strict=True)
    )
    Looking.objects.bulk_create(
        Looking(studio_id=one.studio_id, submission=one, member=teachers[one.studio_id], has_it=True)
        for one in waiting[::9]
    )
    Reply.objects.bulk_create(
        Reply(
            studio_id=one.studio_id, submission=one, by=one.student, words="It still leaks.", key=uuid.uuid4()
        )
        for one in waiting[::11]
    )
    for one in waiting[::20]:
        at = timezone.now() + dt.timedelta(days=one.pk % 6)
        lesson = Lesson.objects.create(studio_id=one.studio_id, at=at, time_zone="UTC")
        lesson.present.add(one.student)
