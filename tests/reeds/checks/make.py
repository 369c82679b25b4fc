"""Short ways to make the facts of a reed for the tests of the checks."""

from datetime import UTC, datetime, timedelta

from reeds.checks.facts import Clip, Reading, ReedFacts
from reeds.checks.sheet import Limit, Sheet
from reeds.numbers.measured import Measured
from reeds.numbers.words import Method, Moisture, Stage, Style, said

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def at(hours):
    """A moment so many hours after the start."""
    return START + timedelta(hours=hours)


def number(key, value, u=0.2, **rest):
    """One reading of a number, by ruler unless told otherwise."""
    return Reading(quantity=key, measured=Measured(value, u), **rest)


def look(key, choice, **rest):
    """One reading of a thing seen."""
    return Reading(quantity=key, choice=choice, method=Method.EYE, **rest)


def clip(mm, hours, u=0.2):
    """One clip."""
    return Clip(Measured(mm, u), at(hours))


def reed(*readings, style=Style.SHORT, stage=Stage.TIED, staple_length=45.0, **rest):
    """The facts of a reed with these readings."""
    numbers = {reading.quantity: reading for reading in readings}
    return ReedFacts(style=style, stage=stage, staple_length=staple_length, numbers=numbers, **rest)


def sheet(*limits, style=Style.SHORT):
    """A sheet of these rows."""
    return Sheet(style, limits)


def row(quantity, low=None, aim=None, high=None, **rest):
    """One row of numbers."""
    return Limit(quantity=quantity, low=low, aim=aim, high=high, **rest)


def words(finding):
    """A finding's sentence as an English reader sees it."""
    return said(finding.message, finding.params)


def step(finding):
    """A finding's next step as an English reader sees it."""
    return said(finding.next_step, finding.params)


WET, DRY = Moisture.WET, Moisture.DRY
