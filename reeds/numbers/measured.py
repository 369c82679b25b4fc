"""A measured number carries its doubt: a value with its standard uncertainty, and where that comes from."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

SQRT3 = math.sqrt(3.0)
SQRT12 = math.sqrt(12.0)


@dataclass(frozen=True)
class Measured:
    """A value and its standard uncertainty, both in the same unit.

    Attributes
    ----------
    value : float
        The best estimate, in the unit of its quantity.
    u : float
        Standard uncertainty (k = 1), same unit, not negative; 0 for an exact number.

    Raises
    ------
    ValueError
        If the value or u is not finite, or u is negative.

    Source
    ------
    JCGM 100:2008 (GUM), 2.3.1 and 7.2.1.
    """

    value: float
    u: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and math.isfinite(self.u)) or self.u < 0:
            raise ValueError(
                "A measured value is a finite number with a finite uncertainty that is not negative."
            )

    def __add__(self, other: Measured) -> Measured:
        return Measured(self.value + other.value, math.hypot(self.u, other.u))

    def __sub__(self, other: Measured) -> Measured:
        return Measured(self.value - other.value, math.hypot(self.u, other.u))

    def __mul__(self, factor: float) -> Measured:
        """Times an exact number."""
        return Measured(self.value * factor, self.u * abs(factor))


def of_repeated(readings: Sequence[float]) -> Measured:
    """Return the mean of readings of one thing and its standard uncertainty, s / sqrt(n), same unit.

    What all readings share (a wrong zero, the scale itself) is not in it. Raises ValueError for fewer than
    two readings. Source: JCGM 100:2008, 4.2.1 to 4.2.3.
    """
    if len(readings) < 2:
        raise ValueError("The spread of readings needs at least two.")
    return Measured(statistics.fmean(readings), statistics.stdev(readings) / math.sqrt(len(readings)))


def u_of_division(division: float) -> float:
    """Return the standard uncertainty of a scale read to `division`: division / sqrt(12).

    `division` is in the unit of the scale and not negative; the result has the same unit.
    Source: JCGM 100:2008, F.2.2.1.
    """
    if division < 0:
        raise ValueError("A scale division is not negative.")
    return division / SQRT12


def u_of_limits(half_width: float) -> float:
    """Return the standard uncertainty of stated limits of plus or minus `half_width`: a / sqrt(3).

    `half_width` is in the unit of the quantity and not negative; the result has the same unit.
    Source: JCGM 100:2008, 4.3.7.
    """
    if half_width < 0:
        raise ValueError("Limits of plus or minus a need an a that is not negative.")
    return half_width / SQRT3


def decimals_of(u: float, usual: int) -> int:
    """Return how many decimals a value and its standard uncertainty are both written with.

    Parameters
    ----------
    u : float
        Standard uncertainty in the unit shown, finite, not negative. One significant digit of it is kept, two
        where the first is 1 and the second not 0: rounding so changes it by a quarter at most.
    usual : int
        The decimals of an exact number, where u is 0.

    Returns
    -------
    int
        0 or more: a value is never written finer than its doubt, nor coarser.

    Source
    ------
    JCGM 100:2008, 7.2.6 (at most two significant digits; results rounded to be consistent with u).
    """
    if u <= 0:
        return usual
    first, second = f"{u:.1e}"[0], f"{u:.1e}"[2]
    digits = 2 if first == "1" and second != "0" else 1
    place = int(f"{u:.{digits - 1}e}".partition("e")[2])
    return max(0, digits - 1 - place)


def rounded(measured: Measured, usual: int, finest: int | None = None) -> tuple[Measured, int]:
    """Return a number and its doubt as they are written, and with how many decimals.

    Parameters
    ----------
    measured : Measured
        In the unit shown.
    usual : int
        The decimals of an exact number.
    finest : int, optional
        No more decimals than these, where more would say nothing to the reader.

    Returns
    -------
    (Measured, int)
        Both rounded to the decimals of `decimals_of`. A doubt that would vanish is rounded up to one in the
        last place.

    Source
    ------
    JCGM 100:2008, 7.2.6 (an uncertainty may be rounded up rather than to the nearest digit).
    """
    decimals = decimals_of(measured.u, usual)
    if finest is not None:
        decimals = min(decimals, finest)
    least = 10.0**-decimals if measured.u else 0.0
    # + 0.0: a rounded nought has no sign
    return Measured(round(measured.value, decimals) + 0.0, max(round(measured.u, decimals), least)), decimals
