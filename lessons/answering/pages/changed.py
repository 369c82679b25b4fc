"""What changed since the round before: what was taken off, and all that was told before and after."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from lessons.sending.models import Submission
from lessons.sending.pages import Later
from reeds.checks.conformity import COVERAGE
from reeds.checks.facts import Told
from reeds.numbers.measured import Measured
from reeds.numbers.words import PLAYING_TEST, Speaks
from reeds.reed.facts import answers_in
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.reed import CUTS, ReedEvent
from reeds.take.models import Take
from reeds.take.told import newest_of_each, told_by
from studio.models import Member


@dataclass(frozen=True)
class NumberChanged:
    """One quantity before and after; `by` is the difference with its joint doubt, in the quantity's unit."""

    before: Measurement
    after: Measurement

    @property
    def by(self) -> Measured | None:
        """After less before; None for a word."""
        if self.before.measured is None or self.after.measured is None:
            return None
        return self.after.measured - self.before.measured

    @property
    def is_seen(self) -> bool:
        """Whether it differs by more than the joint doubt of both readings (2.6 u), or in its word."""
        by = self.by
        return self.before.word != self.after.word if by is None else abs(by.value) > COVERAGE * by.u


@dataclass(frozen=True)
class RatingChanged:
    """How one item spoke before and after, in the words of the form."""

    item: str
    before: str
    after: str


@dataclass(frozen=True)
class TakeChanged:
    """One item recorded before and after, with what both takes told."""

    before: Take
    after: Take
    told_before: Told
    told_after: Told


class Changed:
    """This round beside the one before it; empty where there is none."""

    def __init__(
        self,
        submission: Submission,
        member: Member,
        later: Later | None = None,
        earlier: Sequence[Submission] | None = None,
    ) -> None:
        self.submission = submission
        self.member = member
        self.later = later or Later(submission)
        self.earlier = earlier  # newest first, where a page has them

    @cached_property
    def before(self) -> Submission | None:
        """The last round of the same reed that was sent before this one."""
        if self.earlier is not None:
            return next(iter(self.earlier), None)
        rows = Submission.objects.visible_to(self.member).sent().filter(reed=self.submission.reed_id)
        earlier = rows.filter(round__lt=self.submission.round).order_by("-round")
        return earlier.select_related("playing_test").prefetch_related("playing_test__ratings").first()

    @cached_property
    def work(self) -> list[ReedEvent]:
        """What was scraped and clipped off between the two, oldest first."""
        if self.before is None:
            return []
        between = (self.before.sent_at, self.submission.sent_at)
        rows = ReedEvent.objects.visible_to(self.member).standing().filter(reed=self.submission.reed_id)
        return list(rows.filter(kind__in=CUTS, at__range=between).order_by("at", "pk"))

    @cached_property
    def numbers(self) -> list[NumberChanged]:
        """The quantities told in both rounds, in the order of the registry."""
        if self.before is None:
            return []
        then = _newest(self.before, self.before.came_later)
        now = _newest(self.submission, self.later.numbers)
        known = self.submission.reed.version.sheet.known
        return [NumberChanged(then[key], now[key]) for key in known if key in then and key in now]

    @cached_property
    def ratings(self) -> list[RatingChanged]:
        """The items of the playing test that speak in another way than before."""
        if self.before is None:
            return []
        then, now = answers_in(self.before.playing_test), answers_in(self.submission.playing_test)
        return [
            RatingChanged(item, Speaks(then[item]).label, Speaks(now[item]).label)
            for item in PLAYING_TEST
            if item in then and item in now and then[item] != now[item]
        ]

    @cached_property
    def takes(self) -> list[TakeChanged]:
        """The items recorded in both rounds."""
        if self.before is None:
            return []
        then = _of_reed(self.before.takes.heard().select_related("reed").defer("tracks"), self.before.reed_id)
        now = _of_reed(self.later.takes, self.submission.reed_id)
        return [
            TakeChanged(then[item], now[item], told_by(then[item]), told_by(now[item]))
            for item in PLAYING_TEST
            if item in then and item in now
        ]

    @property
    def is_told(self) -> bool:
        """Whether there is anything to lay side by side."""
        return bool(self.work or self.numbers or self.ratings or self.takes)


def _newest(submission: Submission, later: Iterable[Measurement]) -> Mapping[str, Measurement]:
    """The newest number of each quantity that came with a round, or was measured on it since."""
    rows = [*submission.measurements.all(), *later]
    return {row.quantity: row for row in sorted(rows, key=lambda row: (row.at, row.pk))}


def _of_reed(takes: Iterable[Take], reed: int) -> Mapping[str, Take]:
    """The newest of each item; the reference reed's came with the round too and are left out."""
    return newest_of_each(take for take in takes if take.reed_id == reed)
