"""A teacher's answer to a round: words, marks on the photos, an outcome, one next step."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import dataclass, fields, replace
from typing import ClassVar, Self

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lessons.answering.annotation import Drawn, from_annotation, words_of
from lessons.answering.spans import Span, span_of
from lessons.demonstration.models import Demonstration
from lessons.sending.models import Submission
from lessons.voice.models import Voice
from reeds.photo.models.photo import Photo
from reeds.take.kept import SoundState
from reeds.take.models import Take
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.consented import hidden
from studio.keys import StudioKey
from studio.models import Member

# so long an answer can be taken back; its student is told by e-mail only after that
UNDO = dt.timedelta(minutes=5)
NEWEST_FIRST = ("-sent_at", "submission__reed__number")
# so long after the last sign of life a teacher counts as looking
PRESENT = dt.timedelta(seconds=60)


class Decision(models.TextChoices):
    """What is to become of the reed."""

    REST = "rest", _("let it rest")
    WORK = "work", _("work on it")
    PLAY = "play", _("play it")
    BRING = "bring", _("bring it to the lesson")
    ANOTHER = "another", _("tie another")


# stands in a teacher's words for the number of the reed that is answered
NUMBER = "[number]"


@dataclass(frozen=True)
class Written:
    """What a teacher wrote, as it stands on the page, and the demonstration that goes along."""

    words: str = ""
    decision: str = ""
    next_step: str = ""
    caution: str = ""
    demonstration_id: int | None = None

    def about(self, number: int) -> Written:
        """Return it with the reed's own number wherever `NUMBER` stands."""
        words, step, caution = (
            text.replace(NUMBER, str(number)) for text in (self.words, self.next_step, self.caution)
        )
        return replace(self, words=words, next_step=step, caution=caution)


class AnswerQuerySet(StudioQuerySet["Answer"]):
    def visible_to(self, member: Seer) -> Self:
        """Return the answers this member may see: teachers all of them, a student those that were sent."""
        rows = super().visible_to(member).filter(submission__reed__taken_out_at__isnull=True)
        return rows if member.teaches else rows.filter(sent_at__isnull=False)

    def sent(self) -> AnswerQuerySet:
        return self.filter(sent_at__isnull=False)

    def own(self, submission: Submission, author: Member) -> Answer:
        """Return this teacher's answer to a round; if there is none, one to begin, which is no row yet."""
        there = self.filter(submission=submission, author=author).first()
        answer = there or Answer(studio_id=submission.studio_id, author=author)
        answer.submission = submission
        return answer

    def sent_with(self, answer: Answer) -> AnswerQuerySet:
        """Return an answer with those that were sent together with it, in the order of their reeds."""
        one = models.Q(pk=answer.pk)
        others = models.Q(together=answer.together, author=answer.author_id) if answer.together else one
        return self.sent().filter(one | others).order_by("submission__reed__number", "pk")

    def just_sent_or_unheard(self, author: Seer, since: dt.datetime) -> AnswerQuerySet:
        """Return what a teacher sent lately, and with a note that turned out not to be readable."""
        own = Answer.objects.sent().filter(studio=author.studio_id, author=author.pk).order_by()
        lately = own.filter(sent_at__gt=since)
        # each is found by an index; asked for in one condition, all that was ever sent is gone through
        unheard = own.filter(voice__isnull=False, voice__sound_state=SoundState.REFUSED)
        return self.filter(pk__in=lately.values("pk").union(unheard.values("pk")))

    def seen_by(self, member: Seer) -> AnswerQuerySet:
        """Return those that were sent, and one's own."""
        return self.filter(models.Q(sent_at__isnull=False) | models.Q(author=member.pk))

    def with_reeds(self) -> AnswerQuerySet:
        return self.select_related("submission__reed", "submission__student__person")


class Answer(StudioRow):
    """One teacher's answer; two teachers on one reed each keep their own."""

    owner_path = "submission__student"

    submission = StudioKey(Submission, on_delete=models.CASCADE, related_name="answers")
    author = StudioKey(Member, on_delete=models.CASCADE, related_name="answers")
    words = models.TextField(_("your words"), max_length=5000, blank=True)
    decision = models.CharField(_("what now"), max_length=10, choices=Decision.choices, blank=True)
    next_step = models.CharField(_("the one next step"), max_length=500, blank=True)
    caution = models.CharField(_("caution"), max_length=500, blank=True)
    saved_at = models.DateTimeField(default=timezone.now, editable=False)
    sent_at = models.DateTimeField(null=True, editable=False)
    demonstration = StudioKey(
        Demonstration,
        verbose_name=_("goes along"),
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="answers",
    )
    voice = StudioKey(Voice, null=True, editable=False, on_delete=models.SET_NULL, related_name="answers")
    # answers that were sent with one sending share it
    together = models.UUIDField(null=True, editable=False, db_index=True)
    # what was written before each reed's number was put in: taken back, it stands there again
    template = models.JSONField(default=dict, editable=False)

    objects: ClassVar[AnswerQuerySet] = AnswerQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["sent_at", "pk"]
        indexes = [
            models.Index(fields=["studio", "submission"]),
            models.Index(fields=["studio", "sent_at"]),
        ]
        constraints = [
            models.UniqueConstraint(fields=["studio", "submission", "author"], name="answer_once_a_teacher")
        ]

    def __str__(self) -> str:
        return f"{self.submission}: {self.get_decision_display()}"

    @property
    def can_be_taken_back(self) -> bool:
        return self.sent_at is not None and self.sent_at > timezone.now() - UNDO

    @property
    def written(self) -> Written:
        """What stands in it."""
        return Written(**{one.name: getattr(self, one.name) for one in fields(Written)})

    def was_sent_as(self, written: Written) -> bool:
        """Return whether these very words were sent: then who sends them did not hear of it."""
        return self.sent_at is not None and self.template == vars(written)


class MarkQuerySet(StudioQuerySet["Mark"]):
    def on_photos(self) -> MarkQuerySet:
        return self.filter(photo__isnull=False)

    def on_what_is_kept(self) -> MarkQuerySet:
        """Return those whose photo or recording is still there: of one taken back, no mark points at it."""
        return self.filter(photo__taken_back_at__isnull=True, take__taken_back_at__isnull=True)

    def visible_to(self, member: Seer) -> Self:
        """Return the marks this member may see: a student those of an answer that was sent.

        Where photos and takes are hidden, since the consent was taken back, so is what is marked on them.
        """
        rows = super().visible_to(member).exclude(hidden("answer__submission__student"))
        return rows if member.teaches else rows.filter(answer__sent_at__isnull=False)


class Mark(StudioRow):
    """A note on a photo or on a span of a take, kept as a W3C Web Annotation, so that export is a dump."""

    owner_path = "answer__submission__student"

    answer = StudioKey(Answer, on_delete=models.CASCADE, related_name="marks")
    photo = StudioKey(Photo, null=True, on_delete=models.CASCADE, related_name="marks")
    take = StudioKey(Take, null=True, on_delete=models.CASCADE, related_name="marks")
    key = models.UUIDField(default=uuid.uuid4)
    annotation = models.JSONField()
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    objects: ClassVar[MarkQuerySet] = MarkQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["studio", "answer", "key"], name="mark_once_a_key"),
            models.CheckConstraint(
                condition=models.Q(photo__isnull=False, take__isnull=True)
                | models.Q(photo__isnull=True, take__isnull=False),
                name="mark_on_a_photo_or_a_take",
            ),
        ]

    def __str__(self) -> str:
        return self.words or str(self.key)

    @property
    def words(self) -> str:
        """What the teacher wrote beside it."""
        return words_of(self.annotation)

    @property
    def drawn(self) -> Drawn:
        """A photo's mark as numbers, to draw it from."""
        return from_annotation(self.annotation)

    @property
    def span(self) -> Span:
        """A take's mark: from when to when, in seconds."""
        return span_of(self.annotation)


class Phrase(StudioRow):
    """A teacher's usual words, to pick from."""

    teacher = StudioKey(Member, on_delete=models.CASCADE, related_name="phrases")
    words = models.CharField(_("words"), max_length=500)
    used = models.PositiveIntegerField(default=0, editable=False)

    owner_path = "teacher"

    class Meta:
        ordering = ["-used", "pk"]

    def __str__(self) -> str:
        return self.words


class ReplyQuerySet(StudioQuerySet["Reply"]):
    def unread_by(self, member: Seer) -> ReplyQuerySet:
        """Return what the other side said back and nobody of this side has opened: teachers are one side.

        A guardian is of neither.
        """
        if member.is_guardian:
            return self.none()
        by_student = models.Q(by=models.F("submission__student"))
        rows = self.filter(read_at__isnull=True, submission__reed__taken_out_at__isnull=True)
        return rows.filter(by_student if member.teaches else ~by_student)


class Reply(StudioRow):
    """What was said back after an answer."""

    owner_path = "submission__student"

    submission = StudioKey(Submission, on_delete=models.CASCADE, related_name="replies")
    by = StudioKey(Member, on_delete=models.CASCADE, related_name="+")
    words = models.TextField(_("your words"), max_length=2000)
    key = models.UUIDField(default=uuid.uuid4)
    at = models.DateTimeField(default=timezone.now, editable=False)
    read_at = models.DateTimeField(null=True, editable=False)

    objects: ClassVar[ReplyQuerySet] = ReplyQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["at", "pk"]
        constraints = [models.UniqueConstraint(fields=["studio", "key"], name="reply_once_a_key")]
        # each page asks how many are unread: few of all that were ever said
        indexes = [
            models.Index(
                fields=["studio", "at"], name="reply_unread", condition=models.Q(read_at__isnull=True)
            )
        ]

    @property
    def is_unread(self) -> bool:
        """Whether its student said it and no teacher has opened it yet."""
        return self.read_at is None and self.by_id == self.submission.student_id

    def __str__(self) -> str:
        return self.words[:40]


class Looking(StudioRow):
    """That a teacher has a round open, so that two teachers on one reed know of each other."""

    submission = StudioKey(Submission, on_delete=models.CASCADE, related_name="looking")
    member = StudioKey(Member, on_delete=models.CASCADE, related_name="+")
    seen_at = models.DateTimeField(default=timezone.now)
    has_it = models.BooleanField(_("I have this one"), default=False)

    owner_path = "member"

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["studio", "submission", "member"], name="looking_once_a_teacher")
        ]

    @property
    def is_present(self) -> bool:
        """Whether they have the round open now."""
        return self.seen_at > timezone.now() - PRESENT

    def __str__(self) -> str:
        return str(self.member)
