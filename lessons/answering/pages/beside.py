"""What lies beside a round: the reed's last round, the student's reed before, their numbers in one table."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from django.db.models import Prefetch, Q, prefetch_related_objects

from lessons.answering.annotation import Plane
from lessons.answering.models import Answer, Mark
from lessons.answering.pages.choices import Choice, Choices
from lessons.answering.pages.marked import planes_of
from lessons.sending.models import Submission
from lessons.sending.pages import Later
from reeds.checks.findings import Finding, in_order, spread
from reeds.checks.next_steps import NEXT_STEPS
from reeds.checks.one_step import NO_STEPS
from reeds.checks.registry import run_checks
from reeds.numbers.quantity import Known, Quantity
from reeds.photo.models.photo import Photo, PhotoState
from reeds.reed.facts import sheet_of
from reeds.reed.models.measurement import Measurement
from reeds.wording import filled
from studio.models import Member

EARLIER = 3
NUMBERS = 4


@dataclass(frozen=True)
class UsualStep:
    """A usual next step with its caution, in the reader's language."""

    words: str
    caution: str


class Beside:
    """Gathers it in a number of queries that does not grow with the rows."""

    def __init__(self, submission: Submission, member: Member, later: Later) -> None:
        self.submission = submission
        self.member = member
        self.later = later

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
    def folded(self) -> list[Submission]:
        """The older rounds that wait under this one and are answered together with it, newest first."""
        if self.submission.round == 1:
            return []
        rows = Submission.objects.visible_to(self.member)
        return list(rows.filter(pk__in=self.submission.older_waiting()).order_by("-round"))

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
    def so_many(self) -> str:
        """How many numbers are read at once, as a slice: the fewer the more causes are told."""
        causes = sum(one.accuses for one in self.submission.found)
        return f":{max(2, NUMBERS - max(0, causes - 1))}"

    @property
    def of_this_stage(self) -> list[Measurement]:
        """The newest number of each quantity of this round's stage, first those that a cause names."""
        newest = (rows[0] for rows in _by_quantity(self.submission).values())
        here = [row for row in newest if row.stage == self.submission.stage and not row.of.at_bench]
        causes = spread(one for one in self.submission.found if one.accuses)
        named = {key for one in causes for key in (one.quantity, *one.also)}
        return sorted(here, key=lambda row: row.quantity not in named)

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

    @cached_property
    def steps(self) -> list[UsualStep]:
        """The usual next steps of what was found, as if nothing had to wait for the teacher."""
        facts = replace(self.later.now, may_act=True)
        found = in_order(run_checks(facts, sheet_of(self.submission.reed, self.later.rows)))
        told = [one for one in found if one.next_step and one.next_step not in NO_STEPS]
        return _unique(UsualStep(_whole_step(one), filled(one.caution, one.params)) for one in told)

    @property
    def more_steps(self) -> list[UsualStep]:
        """What is folded under the first three steps."""
        return [*self.steps[3:], *self.other_steps]

    @cached_property
    def other_steps(self) -> list[UsualStep]:
        """The other usual next steps of this way of scraping."""
        style = self.submission.reed.version.pattern.style
        rows = [row for row in NEXT_STEPS if row.style in (None, style)]
        steps = _unique(UsualStep(filled(row.text, {}), filled(row.caution, {})) for row in rows)
        return [step for step in steps if step not in self.steps]


def _whole_step(found: Finding) -> str:
    """A step with how much and where, and what to play and to look at after it."""
    return " ".join(
        filter(None, (filled(words, found.params) for words in (found.next_step, found.how, found.then)))
    )


def _ready(row: Submission) -> list[Photo]:
    return getattr(row, "ready", [])  # the round itself lies on the bench, not beside it


def _by_quantity(column: Submission) -> dict[str, list[Measurement]]:
    found: dict[str, list[Measurement]] = {}
    for row in column.measurements.all():
        found.setdefault(row.quantity, []).insert(0, row)
    return found


def _unique(steps: Iterable[UsualStep]) -> list[UsualStep]:
    return list(dict.fromkeys(steps))
