"""What lies beside a round: the reed's last round, the student's reed before, their numbers in one table."""

from __future__ import annotations

from functools import cached_property

from django.db.models import Prefetch, Q, prefetch_related_objects

from lessons.answering.annotation import Plane
from lessons.answering.models import Answer, Mark
from lessons.answering.pages.choices import Choice, Choices
from lessons.answering.pages.marked import planes_of
from lessons.sending.models import Submission
from reeds.numbers.quantity import Known, Quantity
from reeds.photo.models.photo import Photo, PhotoState
from reeds.reed.models.measurement import Measurement
from studio.models import Member

EARLIER = 3


class Beside:
    """Gathers it in a number of queries that does not grow with the rows."""

    def __init__(self, submission: Submission, member: Member) -> None:
        self.submission = submission
        self.member = member

    @cached_property
    def earlier(self) -> list[Submission]:
        """The rounds of this reed before this one, newest first."""
        return self._both[0]

    @property
    def previous(self) -> Submission | None:
        """The last round of the reed that this student made before this one, whenever it was sent."""
        return self._both[1]

    @cached_property
    def _both(self) -> tuple[list[Submission], Submission | None]:
        """Both, with their photos, answers and marks, which are fetched for all of them at once."""
        now = self.submission
        rows = Submission.objects.visible_to(self.member).sent().select_related("reed", "playing_test")
        of_this_reed = rows.filter(reed=now.reed_id, round__lt=now.round)
        earlier = list(of_this_reed.order_by("-round")[:EARLIER])
        of_one_day = Q(reed__made_at=now.reed.made_at, reed__number__lt=now.reed.number)
        before = rows.filter(Q(reed__made_at__lt=now.reed.made_at) | of_one_day, student=now.student_id)
        previous = before.order_by("-reed__made_at", "-reed__number", "-round").first()
        prefetch_related_objects([*earlier, *([previous] if previous else [])], *self._with_them())
        return earlier, previous

    def _with_them(self) -> list[Prefetch[str]]:
        ready = Photo.objects.visible_to(self.member).shown().filter(state=PhotoState.READY)
        answers = (
            Answer.objects.visible_to(self.member)
            .sent()
            .select_related("author__person", "voice", "demonstration")
            .prefetch_related(Prefetch("marks", Mark.objects.visible_to(self.member).on_photos()))
        )
        return [
            Prefetch[str]("photos", ready, to_attr="ready"),
            Prefetch[str]("answers", answers, to_attr="given"),
        ]

    @cached_property
    def columns(self) -> list[Submission]:
        """The rounds whose numbers are laid side by side, this one first."""
        return [self.submission, *self.earlier[:1], *([self.previous] if self.previous else [])]

    @cached_property
    def planes(self) -> dict[int, Plane]:
        """The own scale of each measured photo of what lies beside it."""
        return planes_of([*self.photos, *(one.photo for one in self.choices)])

    @property
    def photos(self) -> list[Photo]:
        """Those of the earlier rounds and of the reed before."""
        return [photo for row in [*self.earlier, *self.columns[-1:]] for photo in _ready(row)]

    @cached_property
    def choices(self) -> list[Choice]:
        """The reeds that one press lays beside it at the same true scale."""
        return Choices(self.submission, self.member).all()

    @property
    def marks(self) -> list[Mark]:
        """What was marked on the photos that lie beside it."""
        rounds = [*self.earlier, *self.columns[-1:]]
        answers = {answer.pk: answer for row in rounds for answer in getattr(row, "given", [])}
        of_rounds = [mark for answer in answers.values() for mark in answer.marks.all()]
        sent = Mark.objects.visible_to(self.member).filter(answer__sent_at__isnull=False)
        of_choices = sent.filter(photo__in=[one.photo for one in self.choices])
        return list({mark.pk: mark for mark in [*of_rounds, *of_choices]}.values())

    @property
    def at_bench(self) -> list[Measurement]:
        """What was noted at the bench and sent with this round, in the order of work."""
        rows = _by_quantity(self.submission)
        return [rows[key][0] for key, quantity in self.known.items() if quantity.at_bench and key in rows]

    @property
    def known(self) -> Known:
        """What the studio knows: the registry and its own."""
        return self.submission.reed.version.sheet.known

    @property
    def given(self) -> list[Answer]:
        """What was answered to the earlier rounds, the newest round first."""
        return [answer for row in self.earlier for answer in getattr(row, "given", [])]

    @property
    def numbers(self) -> list[tuple[Quantity, list[list[Measurement]]]]:
        """Each quantity with its numbers in every column, the newest first; in the order of the registry."""
        prefetch_related_objects(self.columns, "measurements")
        tables = [_by_quantity(column) for column in self.columns]
        measured = set().union(*tables)
        return [
            (quantity, [table.get(key, []) for table in tables])
            for key, quantity in self.known.items()
            if key in measured
        ]


def _ready(row: Submission) -> list[Photo]:
    return getattr(row, "ready", [])  # the round itself lies on the bench, not beside it


def _by_quantity(column: Submission) -> dict[str, list[Measurement]]:
    found: dict[str, list[Measurement]] = {}
    for row in column.measurements.all():
        found.setdefault(row.quantity, []).insert(0, row)
    return found
