"""Rows of one reed gathered into that reed, against what is there already; nothing is written here."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from lessons.log.table.columns import STEPS, is_no, is_yes
from lessons.log.table.days import When
from lessons.log.table.existing import Existing
from lessons.log.table.headings import folded
from lessons.log.table.lines import Line, Wrong
from reeds.numbers.words import Flexibility, Refused, Stage
from reeds.numbers.words import gettext_noop as _

NOBODY = _("“%(typed)s” is nobody of this studio.")
SEVERAL_SO_CALLED = _("Several people are called “%(typed)s”: write the user name.")
OTHERS = _("“%(typed)s” is somebody else: the reeds of this list are one person's.")
WHOSE = _("It does not say whose reed it is.")
NO_DAY_MADE = _("It does not say when the reed was made.")
TO_COME = _("%(day)s has not come yet.")
BEFORE_MADE = _("%(day)s is before the reed was made, on %(made)s.")
IS_THERE = _(
    "There is a reed %(number)s already: choose whether its numbers are added or a new reed is made."
)
TAKEN_OUT = _("Reed %(number)s was taken out, and its number is not used again: give it another.")
NO_SHEET = _("“%(typed)s” is no measuring sheet of this studio.")
OTHERWISE = _("It says otherwise than row %(row)s of the same reed.")
NO_NUMBER_TO_ADD = _("Reed %(number)s is there already, and the row has no number, rating or note to add.")
BACKWARDS = _("A later step has an earlier day than the one before it.")


# more are counted and not kept: who has so many puts the file right first
MOST_TOLD = 300


class ThereAlready(NamedTuple):
    """A reed that a studio has: its row's key, the day it was made, whether it was taken out."""

    pk: int
    made: dt.date
    taken_out: bool


@dataclass(frozen=True, kw_only=True)
class Around:
    """What rows are read against.

    Attributes
    ----------
    people : mapping of str to int
        Members by folded name and user name; 0 for a name that several bear.
    owner : int or None
        The member whose reeds they all are; with it a column of students may only name that member.
    reeds : mapping of (member, number) to ThereAlready
        What is there.
    sheets : mapping of str to int
        Measuring sheets by folded name.
    today : datetime.date
        In the studio's time zone.
    existing : Existing
        What becomes of a reed that is there.
    made_on : datetime.date or None
        When a reed was made of which the file does not say it.
    """

    people: Mapping[str, int]
    owner: int | None
    reeds: Mapping[tuple[int, int], ThereAlready]
    sheets: Mapping[str, int]
    today: dt.date
    existing: Existing = Existing.REFUSE
    made_on: dt.date | None = None


@dataclass(slots=True)
class Gathered:
    """One reed of the file.

    Attributes
    ----------
    owner, number : int, int or None
        Whose it is, and its number as told; None for the next that is free.
    row : int
        The first row that speaks of it.
    made : date or datetime
        When it was made.
    there : int or None
        The key of the reed that numbers are added to; None for a new one.
    facts : dict
        What it is made of: sheet, cane, shape, staple, nominal_staple_length, feel.
    steps : dict of Stage to date or datetime
        When it came to a stage, where that is told.
    stage : Stage
        The furthest it is said to be, or that its numbers are of; never given up.
    given_up : str or None
        Why it was given up; '' where no reason is told.
    last : date or datetime
        The latest day on which something was measured.
    stage_said : bool
        Whether the list itself says how far it is.
    """

    owner: int
    number: int | None
    row: int
    made: When
    there: int | None = None
    facts: dict[str, str | float] = field(default_factory=dict)
    steps: dict[Stage, When] = field(default_factory=dict)
    stage: Stage = Stage.CANE
    given_up: str | None = None
    last: When = dt.date.min
    stage_said: bool = False


@dataclass
class Gathering:
    """All reeds of a file, in the order of their first row, and what is wrong.

    Attributes
    ----------
    reeds : list of Gathered
        Each once.
    by_row : dict of int to int
        Which of them a row speaks of, for every row that is used.
    wrong, wrong_rows : list of Wrong, int
        What is wrong, row by row, the first of it, and how many rows; such a row is not in `by_row`.
    """

    around: Around
    reeds: list[Gathered] = field(default_factory=list)
    by_row: dict[int, int] = field(default_factory=dict)
    wrong: list[Wrong] = field(default_factory=list)
    wrong_rows: int = 0
    _places: dict[tuple[int, int], int] = field(default_factory=dict)

    def take(self, lines: Iterable[Line]) -> Iterator[Line]:
        """Go through lines and yield those that are used."""
        for line in lines:
            if not line.wrong:
                self._take(line)
            if not line.wrong:
                yield line
                continue
            self.wrong_rows += 1
            self.wrong += line.wrong[: MOST_TOLD - len(self.wrong)]

    def _take(self, line: Line) -> None:
        """Add a line to its reed, or note why not."""
        try:
            owner = self._owner(line)
            number = line.grades.get("reed")
            place = None if number is None else self._places.get((owner, number))
            told = self._first(line, owner, number) if place is None else self.reeds[place]
            _add(told, line, self.around)
        except _RowRefused as refused:
            line.refuse(refused.column, refused.why)
            return
        if place is None:
            place = len(self.reeds)
            self.reeds.append(told)
            if number is not None:
                self._places[owner, number] = place
        self.by_row[line.row] = place

    def _owner(self, line: Line) -> int:
        around, typed = self.around, line.texts.get("student")
        if typed is None:
            if around.owner is None:
                raise _RowRefused("student", Refused(WHOSE))
            return around.owner
        found = around.people.get(folded(typed))
        if found == 0:
            raise _RowRefused("student", Refused(SEVERAL_SO_CALLED, typed=typed))
        if found is None:
            raise _RowRefused("student", Refused(NOBODY, typed=typed))
        if around.owner not in (None, found):
            raise _RowRefused("student", Refused(OTHERS, typed=typed))
        return found

    def _first(self, line: Line, owner: int, number: int | None) -> Gathered:
        """A reed of which this is the first row."""
        there = None if number is None else self.around.reeds.get((owner, number))
        if there and number is not None and self.around.existing is not Existing.NEW:
            self._must_be_addable(line, number, there)
            return Gathered(owner, number, line.row, there.made, there=there.pk)
        made = line.days.get("made_on") or self.around.made_on or _earliest(line)
        if made is None:
            raise _RowRefused("made_on", Refused(NO_DAY_MADE))
        return Gathered(owner, None if there else number, line.row, made)

    def _must_be_addable(self, line: Line, number: int, there: ThereAlready) -> None:
        if there.taken_out:
            raise _RowRefused("reed", Refused(TAKEN_OUT, number=number))
        if self.around.existing is Existing.REFUSE:
            raise _RowRefused("reed", Refused(IS_THERE, number=number))
        if not (line.readings or line.texts.get("note") or rates(line)):
            raise _RowRefused("reed", Refused(NO_NUMBER_TO_ADD, number=number))


class _RowRefused(Exception):
    """Why a row cannot be used, with the key of the column that is to blame."""

    def __init__(self, column: str, why: Refused) -> None:
        super().__init__(str(why))
        self.column, self.why = column, why


def rates(line: Line) -> bool:
    """Whether a row rates how the reed played."""
    return any(key == "effort" or key.startswith(("plays_", "blows_")) for key in line.grades)


def day_of(when: When) -> dt.date:
    """Return the day of a day or a moment, in the moment's own zone."""
    return when.date() if isinstance(when, dt.datetime) else when


def measured_when(line: Line, told: Gathered, stage: Stage | None = None) -> When:
    """Return when a row's numbers of a stage were taken: the day it says, that step's, or of making."""
    measured = line.days.get("measured_on")
    if measured is None and stage is not None:
        measured = told.steps.get(stage)
    return measured or told.made


def _earliest(line: Line) -> When | None:
    """The first of the days a row tells of a reed, where the day it was made is not told."""
    days = [when for key, when in line.days.items() if key in STEPS or key == "measured_on"]
    return min(days, key=day_of, default=None)


_ORDER = {stage: stage.order for stage in Stage}
FACTS = ("sheet", "cane", "shape", "staple")


def _add(told: Gathered, line: Line, around: Around) -> None:
    """Add what a line tells; of a reed that is there already only its numbers count."""
    _days_can_be(told, line, around.today)
    if told.there is None:
        _agree(told, line, around.sheets)
        for key in FACTS:
            if key in line.texts:
                told.facts.setdefault(key, line.texts[key])
        if "nominal_staple_length" in line.numbers:
            told.facts.setdefault("nominal_staple_length", line.numbers["nominal_staple_length"])
        if line.words.get("feel", Flexibility.UNKNOWN) != Flexibility.UNKNOWN:
            told.facts.setdefault("feel", line.words["feel"])
        _go_on(told, line)
    told.last = max(told.last, measured_when(line, told), key=day_of)


def _days_can_be(told: Gathered, line: Line, today: dt.date) -> None:
    """Refuse a day to come, and one before the reed was made."""
    for key, when in line.days.items():
        if day_of(when) > today:
            raise _RowRefused(key, Refused(TO_COME, day=day_of(when).isoformat()))
        if key != "made_on" and day_of(when) < day_of(told.made):
            made = day_of(told.made).isoformat()
            raise _RowRefused(key, Refused(BEFORE_MADE, day=day_of(when).isoformat(), made=made))
    if day_of(told.made) > today:
        raise _RowRefused("made_on", Refused(TO_COME, day=day_of(told.made).isoformat()))


def _agree(told: Gathered, line: Line, sheets: Mapping[str, int]) -> None:
    """Refuse a row that says otherwise of a reed than one before it, or names a sheet that is not there."""
    said = {**{key: line.texts[key] for key in FACTS if key in line.texts}, **_measured_facts(line)}
    wrong = next((key for key, value in said.items() if told.facts.get(key, value) != value), None)
    if wrong is None and line.days.get("made_on", told.made) != told.made:
        wrong = "made_on"
    if wrong is not None:
        raise _RowRefused(wrong, Refused(OTHERWISE, row=told.row))
    sheet = line.texts.get("sheet")
    if sheet is not None and folded(sheet) not in sheets:
        raise _RowRefused("sheet", Refused(NO_SHEET, typed=sheet))
    steps = {**told.steps, **{STEPS[key]: when for key, when in line.days.items() if key in STEPS}}
    in_order = [day_of(steps[stage]) for stage in Stage if stage in steps]
    if in_order != sorted(in_order):
        raise _RowRefused("", Refused(BACKWARDS))


def _measured_facts(line: Line) -> dict[str, float]:
    length = line.numbers.get("nominal_staple_length")
    return {} if length is None else {"nominal_staple_length": length}


def _go_on(told: Gathered, line: Line) -> None:
    """Take a reed as far as a line says that it is."""
    for key, when in line.days.items():
        if key in STEPS:
            told.steps.setdefault(STEPS[key], when)
    reached = [told.stage, *(stage for stage in told.steps if stage is not Stage.GIVEN_UP)]
    said = Stage(line.words["stage"]) if "stage" in line.words else None
    if said is None or said is Stage.GIVEN_UP:
        reached += [one.quantity.stage for one in line.readings]
        reached += [Stage.PLAYING] if rates(line) else []
    else:
        reached.append(said)
    told.stage_said = told.stage_said or said is not None or bool(told.steps)
    told.stage = max(reached, key=_ORDER.__getitem__)
    _give_up(told, line, said)


def _give_up(told: Gathered, line: Line, said: Stage | None) -> None:
    """Note that a reed was given up, and why: a reason, a plain yes, a day, or the stage says so."""
    why = line.texts.get("given_up", "")
    if why and not is_no(why):
        told.given_up = told.given_up or ("" if is_yes(why) else why)
    elif said is Stage.GIVEN_UP or Stage.GIVEN_UP in told.steps:
        told.given_up = told.given_up or ""
