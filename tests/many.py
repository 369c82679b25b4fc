"""A studio in which every list is long, written by bulk_create: for the bench, and for tests of long lists.

A student of 500 reeds, and another: of each 111 blanks at rest, 125 rounds waiting, 375 answers unread, 60
begun, 60 things said back either way, 60 pieces of work; with 300 people, 200 sheets and 500 lessons.
"""

from __future__ import annotations

import datetime as dt

from django.db.models import F
from django.utils import timezone

from lessons.answering.models import Answer, Decision, Reply
from lessons.lesson.models import Lesson, SetWork
from lessons.sending.models import Submission
from reeds.photo.models.photo import Photo, PhotoState
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import Reed
from reeds.sheet.models.pattern import Pattern, PatternVersion
from reeds.sheet.starters import SHORT_SCRAPE
from studio.models import Invitation, Member, Person, Role, Studio
from tests.big_term import BigTerm, big_term

STUDENTS, FORMER, GUARDIANS, INVITED, SHEETS, LESSONS, SOME = 200, 60, 38, 60, 200, 500, 60


def many_of_all(reeds_each: int = 500, some: int = SOME, share: float = 1) -> BigTerm:
    """Write the studio, with a share of all that is no reed's; its first student is the one of 500 reeds."""
    big = big_term(students=2, reeds_each=reeds_each, start=timezone.now() - dt.timedelta(days=115))
    studio, teacher, student = big.term.studio, big.teacher, big.students[0]
    _sent_once_measured(studio)
    _people(studio, teacher, share)
    _sheets(studio, share)
    _lessons(studio, student, share)
    _photos(studio)
    _on_the_desks(studio, teacher, some)
    SetWork.objects.bulk_create(
        SetWork(studio=studio, student=student, words=f"three blanks, {k}") for k in range(some)
    )
    return big


def _sent_once_measured(studio: Studio) -> None:
    """Numbers are entered as they are measured, within three days; a round is sent with them."""
    Measurement.objects.filter(studio=studio).update(entered_at=F("at"))
    later = dt.timedelta(days=4)
    Submission.objects.filter(studio=studio).update(
        sent_at=F("sent_at") + later, answered_at=F("answered_at") + later
    )


def _people(studio: Studio, teacher: Member, share: float) -> None:
    kinds = (
        (STUDENTS - 2, Role.STUDENT, None),
        (FORMER, Role.STUDENT, timezone.now()),
        (GUARDIANS, Role.GUARDIAN, None),
        (2, Role.ASSISTANT, None),
    )
    asked = [(role, left_at) for n, role, left_at in kinds for _ in range(round(n * share))]
    people = Person.objects.bulk_create(
        Person(username=f"listed-{studio.pk}-{k}", name=f"Listed {k:03}") for k in range(len(asked))
    )
    members = Member.objects.bulk_create(
        Member(studio=studio, person=person, role=role, left_at=left_at, under_age=not person.pk % 3)
        for person, (role, left_at) in zip(people, asked, strict=True)
    )
    tied = Member.children.through
    guardians = [one for one in members if one.role == Role.GUARDIAN]
    tied.objects.bulk_create(
        tied(from_member=one, to_member=child) for one, child in zip(guardians, members, strict=False)
    )
    Invitation.objects.bulk_create(
        Invitation(studio=studio, name=f"Invited {k}", invited_by=teacher)
        for k in range(round(INVITED * share))
    )


def _sheets(studio: Studio, share: float) -> None:
    """Sheets without reeds: a quarter of them put away."""
    away = (None, None, None, timezone.now())
    patterns = Pattern.objects.bulk_create(
        Pattern(studio=studio, name=f"Sheet {k:03}", style="short", put_away_at=away[k % 4])
        for k in range(round(SHEETS * share))
    )
    data = SHORT_SCRAPE.to_json()
    PatternVersion.objects.bulk_create(
        PatternVersion(studio=studio, pattern=one, number=1, data=data) for one in patterns
    )


def _lessons(studio: Studio, student: Member, share: float) -> None:
    """Half of them are to come."""
    now, many = timezone.now(), round(LESSONS * share)
    lessons = Lesson.objects.bulk_create(
        Lesson(studio=studio, at=now + dt.timedelta(days=k - many // 2, hours=1), time_zone="Europe/Berlin")
        for k in range(many)
    )
    there = Lesson.present.through
    there.objects.bulk_create(there(lesson=one, member=student) for one in lessons)


def _photos(studio: Studio) -> None:
    reeds = Reed.objects.filter(studio=studio)
    Photo.objects.bulk_create(
        Photo(studio=studio, reed=reed, state=PhotoState.READY, thumbnail="photos/small.jpg")
        for reed in reeds
    )


def _on_the_desks(studio: Studio, teacher: Member, some: int) -> None:
    """Answers, what was said back to some of them, and drafts on top of others."""
    answered = Submission.objects.filter(studio=studio, answered_at__isnull=False).order_by("pk")
    Answer.objects.bulk_create(
        Answer(studio=studio, submission=one, author=teacher, decision=Decision.WORK, sent_at=one.answered_at,
               next_step="Thin the tip by a hair on the left, then try the crow again.")
        for one in answered
    )  # fmt: skip
    for student in Member.objects.filter(pk__in=answered.values("student")):
        theirs = answered.filter(student=student)
        Reply.objects.bulk_create(
            Reply(studio=studio, submission=one, by=by, words="It still leaks at the sides.")
            for one in theirs[:some]
            for by in (teacher, student)
        )
        Submission.objects.bulk_create(
            Submission(studio=studio, reed_id=one.reed_id, student=student, round=2, question="Even now?")
            for one in theirs[some : 2 * some]
        )
