"""A studio with one of everything, and its people."""

from __future__ import annotations

import datetime as dt
import uuid

from django.utils import timezone

from lessons.answering.annotation import Drawn, Kind, to_annotation
from lessons.answering.models import Answer, Mark, Phrase
from lessons.calendar.actions import make_link
from lessons.lesson.models import Lesson, SetWork
from reeds.numbers.words import Stage
from reeds.photo.actions.card import new_card
from reeds.reed.models.reed import ReedEvent
from reeds.sheet.actions.own import Described, add_own
from studio.models import Invitation, Member, Person, SignInLink
from tests import factories as make

TODAY = dt.date(2026, 3, 2)
NOTE = to_annotation(Drawn(Kind.POINT, ((0.5, 0.5),), "a note", None), uuid.UUID(int=1))


class World:
    """Two studios; in one a teacher, an assistant, and two students under age with a guardian each.

    The first student has one of everything, and a consent to photos and recordings.
    """

    def __init__(self) -> None:
        self.teacher = make.teacher()
        self.studio = self.teacher.studio
        self.assistant = make.assistant(studio=self.studio)
        self.student = make.student(
            studio=self.studio, under_age=True, guardian_name="A Guardian", guardian_consent_on=TODAY
        )
        Person.objects.filter(pk=self.student.person_id).update(email_wanted="wanted@example.org")
        self.student.person.refresh_from_db()
        self.fellow = make.student(studio=self.studio, under_age=True)
        self.guardian = make.guardian(self.student)
        self.other_guardian = make.guardian(self.fellow)
        self.stranger = make.teacher()
        self.version = make.VersionFactory(pattern__studio=self.studio)
        self.pattern = self.version.pattern
        angle = Described(
            name="angle of the corners", stage=Stage.FINISHING, unit="°", low=0.0, high=90.0, u=2.0
        )
        self.own = add_own(self.teacher, angle)
        self.cane = make.CaneFactory(owner=self.student)
        self.reed = make.ReedFactory(owner=self.student, version=self.version, cane=self.cane)
        self.event = ReedEvent.objects.create(
            studio=self.studio, reed=self.reed, by=self.student, kind="clip", clip_mm=0.5, clip_u=0.1
        )
        self.photo = make.ready_photo(self.reed)
        self.take = make.ready_take(self.reed, hz=445.0)
        self.card = new_card(self.student)
        self.measured = make.measured_photo(self.reed)
        self._round()
        self.begun = make.ReedFactory(owner=self.student, version=self.version)
        self.draft = make.SubmissionFactory(reed=self.begun)
        self.draft_photo = make.ready_photo(self.begun)
        self.draft.photos.add(self.draft_photo)
        self.draft_take = make.ready_take(self.begun)
        self.draft.takes.add(self.draft_take)
        self._lesson()
        self.plan = make.planned_comparison(self.teacher, [self.student], with_blanks=True)
        self.allotment = self.plan.places.first()
        self.term = make.TermFactory(
            studio=self.studio, starts_on=dt.date(2020, 1, 1), ends_on=dt.date(2099, 12, 31)
        )
        self.letter = make.LetterFactory(
            student=self.student, term=self.term, words="Go on.", given_at=timezone.now()
        )
        self.letter_draft = make.LetterFactory(
            student=self.student, term=self.term, version=2, saved_at=timezone.now()
        )
        self.log = make.uploaded_log(self.student)
        self.invitation = Invitation.objects.create(
            studio=self.studio, invited_by=self.teacher, name="Person to come"
        )
        self.link = SignInLink.objects.create(
            studio=self.studio,
            member=self.student,
            made_by=self.teacher,
            expires_at=timezone.now() + dt.timedelta(days=1),
        )

        self.calendar = make_link(self.student)
        self.export = make.ready_export(self.student)

    @property
    def cast(self) -> list[Member]:
        """Everybody of the studio."""
        return [
            self.student,
            self.fellow,
            self.guardian,
            self.other_guardian,
            self.assistant,
            self.teacher,
        ]

    def _round(self) -> None:
        """A round that was answered, with a mark, and one that waits."""
        now = timezone.now()
        sent = {"stage": "tied", "version": self.version, "sent_at": now}
        self.answered = make.SubmissionFactory(reed=self.reed, answered_at=now, **sent)
        self.answered.photos.add(self.photo)
        self.answered.takes.add(self.take)
        self.answer = Answer.objects.create(
            studio=self.studio, submission=self.answered, author=self.teacher, decision="rest", sent_at=now
        )
        self.mark = Mark.objects.create(
            studio=self.studio, answer=self.answer, photo=self.photo, annotation=NOTE
        )
        self.span = Mark.objects.create(
            studio=self.studio, answer=self.answer, take=self.take, annotation=make.span_mark()
        )
        self.voice = make.ready_voice(self.answer)
        self.shown = make.ready_demonstration(self.teacher)
        self.phrase = Phrase.objects.create(studio=self.studio, teacher=self.teacher, words="Rest it.")
        self.waiting = make.SubmissionFactory(reed=self.reed, round=2, **sent)
        self.waiting.photos.add(self.photo)
        self.waiting.takes.add(self.take)

    def _lesson(self) -> None:
        at = dt.datetime.combine(TODAY, dt.time(15), dt.UTC)
        self.lesson = Lesson.objects.create(
            studio=self.studio, at=at, time_zone=self.studio.time_zone, held_by=self.teacher
        )
        self.lesson.present.add(self.student)
        self.work = SetWork.objects.create(
            studio=self.studio, lesson=self.lesson, student=self.student, words="three blanks", count=3
        )
