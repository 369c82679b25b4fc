"""A reed sent for feedback: a draft on the server that grows until it is sent, then waits for an answer."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable
from typing import Any, ClassVar, Self

from django.db import models
from django.db.models import Case, Exists, F, Max, OuterRef, Q, QuerySet, Subquery, Value, When
from django.db.models.functions import Cast
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from lessons.sending.usual import NEWEST, Answered, Usual, usual_wait
from reeds.checks.findings import Finding, Outcome
from reeds.photo.models.photo import Photo, PhotoState
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest
from reeds.reed.models.reed import STAGE_CHOICES, EventKind, Reed, ReedEvent
from reeds.sheet.models.doubt import OwnDoubt
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import Offset, PatternVersion
from reeds.take.models import Take
from studio.access import Seer, StudioQuerySet, StudioRow
from studio.keys import StudioKey
from studio.models import NAMING, Member
from studio.parsed import parsed
from studio.prepared import prepared


def key_of_round(reed: Reed, number: int) -> uuid.UUID:
    """Return the key of a round that nobody has begun: the same on every page on which it may begin."""
    return uuid.uuid5(uuid.NAMESPACE_OID, f"round {number} of reed {reed.pk}")


MAX_QUESTION = 2000
# of the same reed as a round, by an index that begins with the studio
OF_THE_REED = {"studio": OuterRef("studio"), "reed": OuterRef("reed")}
# what happens to a reed and no check asks about
UNCHECKED = (EventKind.PLAYED, EventKind.SOFT, EventKind.AWAY)
# what `Submission.is_new` says of one row
NEW = Q(answered_at__isnull=False, answered_with__isnull=True) & (
    Q(read_at__isnull=True) | Q(read_at__lt=F("answered_at"))
)


class SubmissionQuerySet(StudioQuerySet["Submission"]):
    def visible_to(self, member: Seer) -> Self:
        """Return what this member may see: a draft is its student's alone; a reed taken out is nobody's."""
        sent_or_own = Q(sent_at__isnull=False) | Q(student=member.pk)
        return super().visible_to(member).filter(sent_or_own, reed__taken_out_at__isnull=True)

    def drafts(self) -> SubmissionQuerySet:
        return self.filter(sent_at__isnull=True)

    def next_round(self, reed: Reed, student: Member) -> Submission:
        """Return the reed's open draft; if there is none, one to begin: the first save makes it a row."""
        return open_or_next(self.filter(reed=reed).newest_first()[:1], reed, student)

    def newest_first(self) -> SubmissionQuerySet:
        """Return rounds of one reed with its open draft first, then the newest by number: clocks go wrong."""
        return self.alias(is_open=Q(sent_at__isnull=True)).order_by("-is_open", "-round")

    def with_something(self) -> SubmissionQuerySet:
        """Return rounds that were sent, and drafts that hold something: a page only looked at is none."""
        return self.exclude(_holds_nothing())

    def with_what_is_to_be_done(self) -> SubmissionQuerySet:
        """Have each carry `to_do`: whether its answer is new, it is begun, or sent and waits; '' for nothing.

        What was folded under a newer round of its reed, and waits with it, is that one's to show.
        """
        kinds = (
            When(NEW, then=Value("new")),
            When(_holds_nothing(), then=Value("")),
            When(sent_at__isnull=True, then=Value("begun")),
            When(~_newer_waiting(), answered_at__isnull=True, then=Value("sent")),
        )
        return self.annotate(to_do=Case(*kinds, default=Value("")))

    def sent(self) -> SubmissionQuerySet:
        return self.filter(sent_at__isnull=False)

    def waiting(self) -> SubmissionQuerySet:
        return self.sent().filter(answered_at__isnull=True)

    def unseen(self) -> SubmissionQuerySet:
        """Return the rounds that wait and that no teacher has opened yet, or written about."""
        return self.waiting().filter(looking__isnull=True, answers__isnull=True, replies__isnull=True)

    def unread_by(self, member: Seer) -> SubmissionQuerySet:
        """Return the rounds in which something stands that nobody of this member's side has opened.

        To their student that is an answer or what was said back, to whoever teaches what a student said
        back. A guardian is of no side.
        """
        if member.is_guardian:
            return self.none()
        said = Q(replies__read_at__isnull=True)
        if member.teaches:
            return self.filter(said & Q(replies__by=F("student"))).distinct()
        # by another than its student; said so that it is the very reply that is unread
        theirs = Q(replies__by__lt=F("student")) | Q(replies__by__gt=F("student"))
        return self.filter(said & theirs | Q(student=member.pk) & NEW).distinct()

    def foremost(self) -> SubmissionQuerySet:
        """Return one round a reed of those that wait: the newest, under which the older ones are folded."""
        return self.exclude(_newer_waiting())

    def to_place(self, now: dt.datetime, until: dt.datetime) -> QuerySet[Submission, tuple[Any, ...]]:
        """Return of the rounds that wait what `placed` reads, which puts them in the order of need.

        Of lessons it reads the next one until then: those of a studio's next days are few.
        """
        here = {"studio": OuterRef("studio"), "lessons__studio": OuterRef("studio")}
        soon = {"lessons__at__gt": now, "lessons__at__lte": until}
        students = Member.objects.filter(**here, pk=OuterRef("student"), **soon)
        to_come = students.order_by("lessons__at").values("lessons__at")[:1]
        on_it = Q(photo__submissions=OuterRef("pk")) | Q(take__submissions=OuterRef("pk"))
        later = Measurement.objects.filter(on_it, **OF_THE_REED, entered_at__gt=OuterRef("sent_at"))
        # a key of hundreds of rows, of which nobody wants more than whether two are the same
        batch = Cast("reed__batch", models.CharField())
        rows = self.waiting().annotate(batch=batch, next_lesson=Subquery(to_come), got_more=Exists(later))
        return rows.order_by().values_list(
            *("pk", "reed", "reed__number", "reed__owner", "batch", "stage", "round", "sent_at"),
            *("question", "need", "leaks", "next_lesson", "got_more"),
        )

    def with_what_is_new(self) -> SubmissionQuerySet:
        """Have each carry what is seldom so, and asked about only then.

        `has_changed`: what the checks read of its reed is another than when it was sent; `was_erased`: one
        of its photos or recordings; `is_over_others`: older ones of its reed wait under it.
        """
        since, of_reed = OuterRef("sent_at"), {"reed": OuterRef("reed")}
        told = Q(at__gt=since) | Q(taken_back_at__gt=since)
        changed = (
            Q(Exists(ReedEvent.objects.filter(told, **of_reed).exclude(kind__in=UNCHECKED)))
            | Q(Exists(Measurement.objects.filter(entered_at__gt=since, **OF_THE_REED)))
            | Q(Exists(PlayingTest.objects.filter(at__gt=since, **of_reed)))
            | Q(Exists(Take.objects.filter(told | Q(heard_at__gt=since), **of_reed)))
            | Q(Exists(Offset.objects.filter(student=OuterRef("student"), set_at__gt=since)))
            | Q(Exists(OwnDoubt.objects.filter(studio=OuterRef("studio"), set_at__gt=since)))
        )
        older = Submission.objects.waiting().filter(**OF_THE_REED, round__lt=OuterRef("round"))
        return self.annotate(
            has_changed=changed,
            was_erased=Exists(Photo.objects.erased().filter(submissions=OuterRef("pk")))
            | Exists(Take.objects.erased().filter(submissions=OuterRef("pk"))),
            is_over_others=Exists(older),
        )

    def with_thumb(self) -> SubmissionQuerySet:
        """Have each carry `thumb`, the first of its photos that is ready, be it hidden or not."""
        on = Submission.photos.through.objects.filter(submission=OuterRef("pk"))
        ready = on.filter(photo__state=PhotoState.READY, photo__taken_back_at__isnull=True)
        first = ready.order_by("photo__sent_at", "photo").values("photo")[:1]
        return self.annotate(thumb=Subquery(first))

    def with_contradiction(self) -> SubmissionQuerySet:
        """Return those whose numbers contradicted each other when they were sent."""
        rows = self.annotate(findings_text=Cast("findings", models.TextField()))
        return rows.filter(findings_text__contains='"outcome": "contradiction"')


def _holds_nothing() -> Q:
    """What is true of a draft that was only looked at."""
    kinds = (Submission.photos.through, Submission.takes.through)
    on_it = [Q(Exists(kind.objects.filter(submission=OuterRef("pk")))) for kind in kinds]
    return Q(~on_it[0], ~on_it[1], sent_at__isnull=True, draft={}, question="")


def _newer_waiting() -> Exists:
    return Exists(Submission.objects.waiting().filter(**OF_THE_REED, round__gt=OuterRef("round")))


class Submission(StudioRow):
    """One round of one reed."""

    owner_path = "student"

    reed = StudioKey(Reed, on_delete=models.CASCADE, related_name="submissions")
    student = StudioKey(Member, on_delete=models.CASCADE, related_name="submissions")
    round = models.PositiveSmallIntegerField(default=1)
    key = models.UUIDField(default=uuid.uuid4)
    started_at = models.DateTimeField(default=timezone.now, editable=False)
    draft = models.JSONField(default=dict, blank=True)
    typed_at = models.JSONField(default=dict, blank=True, help_text=_("When each field was typed last."))
    question = models.TextField(_("your question"), max_length=MAX_QUESTION, blank=True)
    photos = models.ManyToManyField(Photo, related_name="submissions")
    # of the reed itself, and of the player's reference reed in the same sitting
    takes = models.ManyToManyField(Take, related_name="submissions")

    # written once, when it is sent
    sent_at = models.DateTimeField(null=True, editable=False)
    stage = models.CharField(max_length=12, choices=STAGE_CHOICES, blank=True)
    version = StudioKey(PatternVersion, null=True, on_delete=models.PROTECT, related_name="+")
    measurements = models.ManyToManyField(Measurement, related_name="submissions")
    playing_test = StudioKey(PlayingTest, null=True, on_delete=models.SET_NULL, related_name="submissions")
    findings = models.JSONField(default=list)
    need = models.PositiveSmallIntegerField(default=0)
    leaks = models.BooleanField(default=False, editable=False)

    answered_at = models.DateTimeField(null=True, editable=False)
    # the newer round of its reed under which it was folded and answered
    answered_with = StudioKey("self", null=True, on_delete=models.SET_NULL, related_name="folded")
    read_at = models.DateTimeField(null=True, editable=False)

    objects: ClassVar[SubmissionQuerySet] = SubmissionQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["-sent_at", "-started_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "reed"], condition=Q(sent_at__isnull=True), name="one_draft_a_reed"
            ),
            models.UniqueConstraint(fields=["studio", "reed", "round"], name="round_once_a_reed"),
            models.UniqueConstraint(fields=["studio", "key"], name="round_once_a_key"),
        ]
        indexes = [
            models.Index(fields=["studio", "answered_at", "sent_at"]),
            models.Index(fields=["studio", "sent_at"]),
            models.Index(fields=["studio", "student", "sent_at"]),
        ]

    def __str__(self) -> str:
        return f"{self.reed} / {self.round}"

    @property
    def is_begun(self) -> bool:
        """Whether anything was kept of it: a page only looked at is no row."""
        return self.pk is not None

    @property
    def measured(self) -> QuerySet[Measurement]:
        """What was measured on its photos and heard in its recordings, of its own reed, whenever that was."""
        if not self.is_begun:
            return Measurement.objects.none()
        on_it = Q(photo__in=self.photos.counted()) | Q(take__in=self.takes.counted())
        return Measurement.objects.filter(on_it, reed=self.reed_id)

    @property
    def came_later(self) -> QuerySet[Measurement]:
        """What was measured on it after it was sent."""
        return self.measured.exclude(submissions=self)

    @property
    def erased_at(self) -> dt.datetime | None:
        """When photos or recordings of it were erased last; None where none was."""
        rows = Submission.objects.filter(pk=self.pk)
        last = rows.aggregate(photos=Max("photos__erased_at"), takes=Max("takes__erased_at"))
        return max(filter(None, last.values()), default=None)

    @property
    def found(self) -> list[Finding]:
        """The findings as they were shown when it was sent."""
        return list(parsed(self, "findings", lambda rows: [Finding.from_json(row) for row in rows]))

    @property
    def outcomes(self) -> list[Outcome]:
        """What each of them came to."""
        return [Outcome(row["outcome"]) for row in self.findings]

    def older_waiting(self) -> SubmissionQuerySet:
        """Return the older rounds of its reed that still wait: they are answered together with this one."""
        return Submission.objects.waiting().filter(reed=self.reed_id, round__lt=self.round)

    @property
    def is_unseen(self) -> bool:
        """Whether nobody has looked at it yet and nothing was begun after it: it can be taken back."""
        later = Submission.objects.filter(reed=self.reed_id, round__gt=self.round)
        return Submission.objects.unseen().filter(pk=self.pk).exclude(Exists(later.with_something())).exists()

    @property
    def was_looked_at(self) -> bool:
        """Whether a teacher opened it, or it was written about."""
        return not Submission.objects.unseen().filter(pk=self.pk).exists()

    @property
    def usual_wait(self) -> Usual | None:
        """How long an answer takes in its studio, by the newest given; None where those are too few."""
        rows = Submission.objects.filter(studio=self.studio_id, answered_with__isnull=True)
        newest = rows.filter(sent_at__isnull=False, answered_at__isnull=False).order_by("-answered_at")
        told = newest.values_list("student_id", "sent_at", "answered_at")[:NEWEST]
        return usual_wait([Answered._make(row) for row in told], self.student_id)

    @property
    def is_new(self) -> bool:
        """Whether there is an answer of its own that its student has not opened yet."""
        if self.answered_at is None or self.answered_with_id is not None:
            return False
        return self.read_at is None or self.read_at < self.answered_at

    @property
    def is_waiting(self) -> bool:
        return self.sent_at is not None and self.answered_at is None


def open_or_next(newest_first: Iterable[Submission], reed: Reed, student: Member) -> Submission:
    """Return the open draft that leads a reed's rounds; if none does, one to begin."""
    newest = next(iter(newest_first), None)
    if newest is not None and newest.sent_at is None:
        return newest
    number = newest.round + 1 if newest else 1
    key = key_of_round(reed, number)
    return Submission(studio_id=reed.studio_id, reed=reed, student=student, round=number, key=key)


def takes_of(of: Submission) -> list[Take]:
    """Return what was recorded for a round, oldest first: as much of each as a line says."""
    return _takes_of(of.student, of.pk) if of.is_begun else []


def photos_of(of: Submission) -> list[Photo]:
    """Return the photos of a round, oldest first."""
    return _photos_of(of.student, of.pk) if of.is_begun else []


def measured_on(of: Submission) -> list[Measurement]:
    """Return what `measured` of a round does, for the page on which it grows."""
    return _measured_on(of.student, of.reed_id, of.pk) if of.is_begun else []


@prepared
def _takes_of(student: Seer, submission: int) -> QuerySet[Take]:
    rows = Take.objects.filter(studio=student.studio_id, submissions=submission)
    return rows.kept().order_by("at", "pk").as_lines()


@prepared
def _photos_of(student: Seer, submission: int) -> QuerySet[Photo]:
    return Photo.objects.filter(studio=student.studio_id, submissions=submission)


@prepared
def _measured_on(student: Seer, reed: int, submission: int) -> QuerySet[Measurement]:
    photos = Photo.objects.filter(submissions=submission).counted()
    takes = Take.objects.filter(submissions=submission).counted()
    on_it = Q(photo__in=photos) | Q(take__in=takes)
    return Measurement.objects.filter(on_it, studio=student.studio_id, reed=reed)


class Notice(StudioRow):
    """That somebody, or one of their devices, was told something; its uniqueness is what makes it once."""

    owner_path = "to"

    to = StudioKey(Member, on_delete=models.CASCADE, related_name="notices")
    about = models.CharField(max_length=60)
    told_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["studio", "to", "about"], name="told_once")]

    def __str__(self) -> str:
        return self.about


@prepared
def numbers_of(_member: Seer, pk: int, reed: int) -> QuerySet[Measurement]:
    """Return the numbers of a round of a reed, oldest first; `was_sent`: with it, else they came later."""
    photos = Photo.objects.counted().filter(submissions=pk).values("pk")
    takes = Take.objects.counted().filter(submissions=pk).values("pk")
    sent = Submission.measurements.through.objects.filter(submission=pk, measurement=OuterRef("pk"))
    rows = Measurement.objects.filter(reed=reed).annotate(was_sent=Exists(sent))
    there = rows.filter(Q(was_sent=True) | Q(photo__in=photos) | Q(take__in=takes))
    whole = [field.name for field in Measurement._meta.concrete_fields]
    own = [f"own__{field.name}" for field in OwnQuantity._meta.concrete_fields]
    return there.select_related("own", "by__person").only(*whole, *own, *(f"by__{name}" for name in NAMING))


def unread_of(member: Member) -> int:
    """Return in how many rounds of this studio an answer or a reply is unread."""
    return sum(_unread(member))


@prepared
def _unread(member: Seer) -> QuerySet[Submission, int]:
    rows = Submission.objects.visible_to(member).unread_by(member).order_by().values("studio")
    return rows.annotate(n=models.Count("pk", distinct=True)).values_list("n", flat=True)


def unread_elsewhere(member: Member) -> int:
    """Return the same of the person's other studios, together: one icon stands for all of them."""
    others = Member.objects.current().filter(person=member.person_id).exclude(pk=member.pk)
    return sum(unread_of(other) for other in others)
