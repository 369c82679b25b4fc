"""The one place that turns database rows into the plain rows that a term's figures are made of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from lessons.sending.models import Submission
from lessons.term.charts import Chart, chart
from lessons.term.lookback.figures import Answers, Found, answers, chosen, found, off_aim, reached
from lessons.term.lookback.rates import Share, share
from lessons.term.lookback.rows import NotedInTerm, ReadingInTerm, SentReed, Wait
from lessons.term.lookback.spread import Spread
from reeds.checks.findings import Finding, Outcome
from reeds.checks.sheet import Sheet
from reeds.numbers.quantity import Known, Quantity
from reeds.numbers.words import PLAYING_TEST, Flexibility, Speaks, Stage
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import Rating
from reeds.reed.models.reed import Reed, ReedEvent
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import Offset, PatternVersion
from studio.access import StudioQuerySet
from studio.models import Member, Term

ASKS_FOR_A_NUMBER = frozenset({Outcome.TOO_CLOSE.value, Outcome.MISSING.value})
ON_THE_WAY = [stage for stage in Stage if stage is not Stage.GIVEN_UP]


@dataclass(frozen=True)
class QuantityInTerm:
    """One quantity over the term."""

    quantity: Quantity
    readings: list[ReadingInTerm]
    off_aim: Spread
    within: Share
    chart: Chart


@dataclass(frozen=True)
class NotedQuantity:
    """One thing seen over the term: for how many of its `n` reeds each choice was noted last."""

    quantity: Quantity
    shares: list[tuple[str, Share]]

    @property
    def n(self) -> int:
        return self.shares[0][1].n


@dataclass(frozen=True)
class Played:
    """How one item of the playing test was rated: a count for each step, from 1 to 5."""

    name: str
    counts: list[tuple[str, int]]
    n: int


class TermFigures:
    """The figures of one term, for the member who asks: the studio's, or one student's."""

    def __init__(self, term: Term, asking: Member, student: Member | None = None) -> None:
        self.term, self.asking, self.student = term, asking, student
        self.start, self.end = term.span

    @cached_property
    def known(self) -> Known:
        """What the studio knows: the registry and its own."""
        return OwnQuantity.objects.visible_to(self.asking).known()

    @cached_property
    def _reeds(self) -> list[Reed]:
        rows = Reed.objects.visible_to(self.asking).filter(made_at__gte=self.start, made_at__lt=self.end)
        if self.student:
            rows = rows.filter(owner=self.student)
        steps = ReedEvent.objects.standing().exclude(to_stage="").only("reed_id", "to_stage")
        return list(rows.filter(is_model=False).prefetch_related(Prefetch("events", steps, to_attr="steps")))

    @cached_property
    def _rounds(self) -> list[Submission]:
        rows = Submission.objects.visible_to(self.asking)
        rows = rows.filter(sent_at__gte=self.start, sent_at__lt=self.end)
        if self.student:
            rows = rows.filter(student=self.student)
        return list(rows.select_related("reed", "student__person").order_by("sent_at"))

    @property
    def made(self) -> int:
        return len(self._reeds)

    @property
    def rounds(self) -> int:
        return len(self._rounds)

    @cached_property
    def reached(self) -> list[tuple[Stage, Share]]:
        """How many of the reeds made in the term came to each stage or beyond."""
        furthest = [max(_stages(reed), key=lambda stage: stage.order) for reed in self._reeds]
        return [(Stage(stage), count) for stage, count in reached(furthest, ON_THE_WAY)]

    @cached_property
    def given_up(self) -> Share:
        return share(sum(reed.stage == Stage.GIVEN_UP for reed in self._reeds), len(self._reeds))

    @cached_property
    def sent(self) -> list[SentReed]:
        kinds: dict[int, set[tuple[str, str]]] = defaultdict(set)
        for row in self._rounds:
            kinds[row.reed_id] |= {_kind(finding) for finding in row.found if finding.needs_attention}
        return [SentReed(reed, frozenset(of_it)) for reed, of_it in kinds.items()]

    @cached_property
    def _found(self) -> list[Found]:
        return found(self.sent)

    @property
    def found(self) -> list[Found]:
        """What was wrong with a reed or with its numbers."""
        return [row for row in self._found if row.outcome not in ASKS_FOR_A_NUMBER]

    @property
    def open_questions(self) -> list[Found]:
        """What only asked for a number, or for a better one."""
        return [row for row in self._found if row.outcome in ASKS_FOR_A_NUMBER]

    @cached_property
    def answers(self) -> Answers:
        return answers([Wait(row.sent_at, row.answered_at) for row in self._rounds if row.sent_at])

    @cached_property
    def quantities(self) -> list[QuantityInTerm]:
        """Each quantity measured in the term, in the registry's order."""
        by_key: dict[str, list[ReadingInTerm]] = defaultdict(list)
        for key, reading in self._readings():
            by_key[key].append(reading)
        return [self._in_term(one, by_key[key]) for key, one in self.known.items() if key in by_key]

    def _in_term(self, quantity: Quantity, readings: list[ReadingInTerm]) -> QuantityInTerm:
        limited = [r for r in readings if r.low is not None or r.high is not None]
        inside = sum(_inside(reading) for reading in limited)
        drawn = chart(readings, self.term.starts_on, self.term.ends_on)
        return QuantityInTerm(quantity, readings, off_aim(readings), share(inside, len(limited)), drawn)

    @cached_property
    def noted(self) -> list[NotedQuantity]:
        """Each thing noted at the bench in the term, in the order of work."""
        keys = [key for key, one in self.known.items() if one.at_bench and not one.is_number]
        by_key: dict[str, list[NotedInTerm]] = defaultdict(list)
        rows = self._measured().filter(quantity__in=keys).order_by("at", "pk")
        for key, reed, word in rows.values_list("quantity", "reed", "word"):
            by_key[key].append(NotedInTerm(reed, word))
        return [_noted(self.known[key], by_key[key]) for key in keys if key in by_key]

    def _measured(self) -> StudioQuerySet[Measurement]:
        rows = Measurement.objects.visible_to(self.asking).filter(at__gte=self.start, at__lt=self.end)
        rows = rows.filter(reed__taken_out_at__isnull=True)
        return rows.filter(reed__owner=self.student) if self.student else rows

    def _readings(self) -> Iterable[tuple[str, ReadingInTerm]]:
        rows = self._measured().filter(value__isnull=False, quantity__in=list(self.known))
        zone = self.term.studio.zone
        sheets = _Sheets(self.asking, self.known)
        for row in rows.select_related("reed").order_by("at", "pk"):
            limit = sheets.of(row.reed).limit_for(
                row.quantity, row.reed.staple_length, Flexibility(row.reed.flexibility), Stage(row.stage)
            )
            low, aim, high = (limit.low, limit.aim, limit.high) if limit else (None, None, None)
            value, u = row.value or 0.0, row.u or 0.0
            yield (
                row.quantity,
                ReadingInTerm(row.reed.number, row.at.astimezone(zone), value, u, low, aim, high),
            )

    @cached_property
    def played(self) -> list[Played]:
        """The playing test's ratings, item by item."""
        rows = Rating.objects.visible_to(self.asking).filter(test__at__gte=self.start, test__at__lt=self.end)
        if self.student:
            rows = rows.filter(test__reed__owner=self.student)
        counts: dict[str, list[int]] = defaultdict(lambda: [0] * len(Speaks))
        for item, speaks in rows.values_list("item", "speaks"):
            if speaks is not None:
                counts[item][speaks - 1] += 1
        return [_played(item, counts[item]) for item in PLAYING_TEST if item in counts]


class _Sheets:
    """Each reed's own sheet with its player's offsets, every version read once."""

    def __init__(self, asking: Member, known: Known) -> None:
        versions = PatternVersion.objects.visible_to(asking)
        self._sheets = {version.pk: version.sheet_in(known) for version in versions}
        self._offsets: dict[int, dict[str, float]] = defaultdict(dict)
        for student, quantity, delta in Offset.objects.visible_to(asking).values_list(
            "student", "quantity", "delta"
        ):
            self._offsets[student][quantity] = delta
        self._moved: dict[tuple[int, int], Sheet] = {}

    def of(self, reed: Reed) -> Sheet:
        place = (reed.version_id, reed.owner_id)
        if place not in self._moved:
            self._moved[place] = self._sheets[reed.version_id].with_offsets(self._offsets[reed.owner_id])
        return self._moved[place]


def _stages(reed: Reed) -> set[Stage]:
    """Every stage a reed ever stood in, giving up left aside."""
    steps = [event.to_stage for event in reed.steps]  # type: ignore[attr-defined]  # prefetched
    return {Stage(stage) for stage in (Stage.CANE, reed.stage, *steps)} - {Stage.GIVEN_UP}


def _kind(finding: Finding) -> tuple[str, str]:
    return finding.quantity or finding.check, finding.outcome.value


def _inside(reading: ReadingInTerm) -> bool:
    above_low = reading.low is None or reading.value >= reading.low
    return above_low and (reading.high is None or reading.value <= reading.high)


def _noted(quantity: Quantity, rows: list[NotedInTerm]) -> NotedQuantity:
    labels = dict(quantity.choices)
    return NotedQuantity(quantity, [(labels[word], it) for word, it in chosen(rows, list(labels))])


def _played(item: str, counts: list[int]) -> Played:
    named = [(_(step.label), n) for step, n in zip(Speaks, counts, strict=True)]
    return Played(PLAYING_TEST[item], named, sum(counts))
