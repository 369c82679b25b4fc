"""What the pictures of a term show: plain rows placed for templates, with what stands beside each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import TypeVar

from lessons.term.charts.against import Band, against, one_band
from lessons.term.charts.individuals import Individuals, individuals
from lessons.term.charts.playing import Playing, StepAt, playing
from lessons.term.charts.quantity import Chart, chart
from lessons.term.charts.strip import Strip, StripRow, strip
from lessons.term.first_and_latest import PhotosSeen, TakesHeard, photos_seen, takes_heard
from lessons.term.lookback.control import Usual, usual
from lessons.term.lookback.figures import inside
from lessons.term.lookback.lasting import days_followed, lasting
from lessons.term.lookback.of_student import Value, of_students
from lessons.term.lookback.rates import Share, share
from lessons.term.lookback.rows import FoundInTerm, LifeInTerm, ReadingInTerm, Wait
from lessons.term.lookback.sentence import Sentence
from lessons.term.rows import ASKS_FOR_A_NUMBER, TermRows
from reeds.numbers.quantity import Quantity
from reeds.photo.pages.comparing import ruler_marks
from studio.models import Member, Term

USUAL = "tie_length"
# with fewer reeds followed when the first ends, or fewer ends, steps look like more than is known; own choice
FEWEST_FOLLOWED, FEWEST_ENDS = 5, 2
# rows of findings under a student's small picture; all of them stand on the student's own page
MOST_ROWS = 3
Row = TypeVar("Row", ReadingInTerm, FoundInTerm, Wait)


@dataclass(frozen=True)
class QuantityDrawn:
    """One quantity over the term: against the sheet's band, or by its own numbers where there is no band.

    `limits` are low, aim and high where all its reeds share them.
    """

    quantity: Quantity
    readings: Sequence[ReadingInTerm]
    within: Share
    limits: tuple[float, float, float] | None
    band: Band | None
    chart: Chart | None


def drawn(quantity: Quantity, readings: Sequence[ReadingInTerm], term: Term) -> QuantityDrawn:
    """Return the picture of one quantity; without a number it is an empty band."""
    band = against(readings, term.starts_on, term.ends_on)
    has_none = bool(readings) and not band.dots
    return QuantityDrawn(
        quantity,
        readings,
        share(*inside(readings)),
        one_band(readings),
        None if has_none else band,
        chart(readings, term.starts_on, term.ends_on) if has_none else None,
    )


def playing_picture(lives: Sequence[LifeInTerm]) -> Playing | None:
    """Return how long reeds play, as steps; None where too few came to play to draw them."""
    it = lasting(lives)
    if it.ended < FEWEST_ENDS or it.seen_until <= 0 or it.steps[0].at_risk < FEWEST_FOLLOWED:
        return None
    steps = [StepAt(step.day, step.share, step.interval.low, step.interval.high) for step in it.steps]
    still = [float(days_followed(life)) for life in lives if life.ended_at is None]
    return playing(steps, still, it.seen_until)


@dataclass(frozen=True)
class HandDrawn:
    """One quantity reed by reed beside its aim, with the limits of what this hand usually does."""

    quantity: Quantity
    usual: Usual
    picture: Individuals
    rows: list[tuple[int, Value]]


def hand_picture(rows: TermRows) -> HandDrawn | None:
    """Return a student's tie lengths reed by reed; None where too few were measured to say what is usual."""
    (of,) = of_students(rows, frozenset()) or (None,)
    values = of.off_aim.get(USUAL, []) if of else []
    it = usual([one.value for one in values])
    if it is None:
        return None
    signals = [place in it.outside for place in range(it.n)]
    picture = individuals([one.value for one in values], signals, it.mean, it.low, it.high)
    number = {reading.reed: reading.number for reading in rows.readings[USUAL]}
    return HandDrawn(rows.known[USUAL], it, picture, [(number[one.reed], one) for one in values])


class StudentPictures:
    """The pictures of one student's term, for the member who asks."""

    def __init__(self, rows: TermRows, student: Member) -> None:
        self.rows, self.term, self.student = rows, rows.term, student

    @cached_property
    def _measured(self) -> list[QuantityDrawn]:
        return [drawn(self.rows.known[key], rows, self.term) for key, rows in self.rows.readings.items()]

    @property
    def quantities(self) -> list[QuantityDrawn]:
        """Each quantity measured twice or more in the term, in the registry's order."""
        return [one for one in self._measured if len(one.readings) > 1]

    @property
    def once(self) -> list[QuantityDrawn]:
        """What was measured once: a number, and no picture."""
        return [one for one in self._measured if len(one.readings) == 1]

    @cached_property
    def strip(self) -> Strip:
        """What was found wrong with a reed, or with its numbers, in time."""
        return _strip(self.term, self.rows.found, self.rows.waits)

    @cached_property
    def photos(self) -> PhotosSeen:
        """The first and the latest reed at true scale."""
        return photos_seen(self.rows.reeds, self.rows.asking)

    @property
    def is_seen_or_heard(self) -> bool:
        """Whether there is a photo to look at or a recording to listen to."""
        return bool(self.photos.shown or self.takes.shown)

    @cached_property
    def playing(self) -> Playing | None:
        """How long the reeds made in the term play."""
        return playing_picture(self.rows.lives)

    @cached_property
    def hand(self) -> HandDrawn | None:
        """What this hand usually ties, reed by reed."""
        return hand_picture(self.rows)

    @property
    def ruler(self) -> str:
        """What lies under them, as one path: a mark each millimetre, a long one each ten."""
        return _ruler()

    @cached_property
    def takes(self) -> TakesHeard:
        """An early and a late recording."""
        return takes_heard(self.term, self.rows.asking, self.student)


@cache
def _ruler() -> str:
    return "".join(f"M{one.at:g} 0v{1.6 if one.mm % 10 else 3.4}" for one in ruler_marks())


def _strip(term: Term, found: Iterable[FoundInTerm], sent: Iterable[Wait]) -> Strip:
    faults = [one for one in found if one.outcome not in ASKS_FOR_A_NUMBER]
    return strip(faults, [wait.sent_at for wait in sent], term.starts_on, term.ends_on)


@dataclass(frozen=True)
class StudentDrawn:
    """One student among the others of the studio."""

    student: Member
    drawn: QuantityDrawn | None
    strip: Strip
    said: Sequence[Sentence]

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to draw."""
        return not (self.strip.rounds or self.said or (self.drawn and self.drawn.readings))

    @property
    def most(self) -> Sequence[StripRow]:
        """What came back most, as much as fits under a small picture."""
        return self.strip.returning[:MOST_ROWS]


class StudioPictures:
    """The pictures of a whole studio's term: one quantity at a time, one small picture a student.

    `said` is what may be said of each, by their keys; `asked` the quantity to draw, where one was chosen.
    """

    def __init__(
        self,
        rows: TermRows,
        students: Sequence[Member],
        said: Mapping[int, Sequence[Sentence]],
        asked: Quantity | None = None,
    ) -> None:
        self.rows, self.term, self.students, self.said, self._asked = rows, rows.term, students, said, asked

    @cached_property
    def choices(self) -> list[Quantity]:
        """What was measured in the term, in the registry's order."""
        return [self.rows.known[key] for key in self.rows.readings]

    @cached_property
    def chosen(self) -> Quantity | None:
        """What is drawn: what was asked for, else the usual one, else what was measured most often."""
        if self._asked or not self.choices:
            return self._asked
        readings = self.rows.readings
        most = max(readings, key=lambda key: (key == USUAL, len(readings[key])))
        return self.rows.known[most]

    @cached_property
    def playing(self) -> Playing | None:
        """How long the reeds made in the term play."""
        return playing_picture(self.rows.lives)

    @cached_property
    def cells(self) -> list[StudentDrawn]:
        """One a student, in the order given."""
        numbers = _by_student(self.rows.readings.get(self.chosen.key, []) if self.chosen else [])
        found, sent = _by_student(self.rows.found), _by_student(self.rows.waits)
        return [
            StudentDrawn(
                student,
                drawn(self.chosen, numbers[student.pk], self.term) if self.chosen else None,
                _strip(self.term, found[student.pk], sent[student.pk]),
                self.said.get(student.pk, ()),
            )
            for student in self.students
        ]

    @property
    def spoken_of(self) -> list[Member]:
        """The students of whom something may be said."""
        return [cell.student for cell in self.cells if cell.said]

    @property
    def without(self) -> list[Member]:
        """The students of whom there is nothing to draw."""
        return [cell.student for cell in self.cells if cell.is_empty]


def _by_student(rows: Iterable[Row]) -> dict[int, list[Row]]:
    by_student: dict[int, list[Row]] = defaultdict(list)
    for row in rows:
        by_student[row.student].append(row)
    return by_student
