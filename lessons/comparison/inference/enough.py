"""How many reeds it would take: simulated studios in which there is something worth knowing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from statistics import NormalDist
from typing import TypeAlias

from lessons.comparison.inference.strata import Floats
from reeds.numbers.late import np

SIMULATED = 400
POWER = 0.8
MOST = 600
SEED = 20261128

Draw: TypeAlias = "Callable[[np.random.Generator, int, int], tuple[Floats, Floats]]"


@dataclass(frozen=True)
class Shares:
    """Yes in `base` of all, in the one half of the reeds more often by `difference`, in the other less."""

    base: float
    difference: float

    def draw(self, random: np.random.Generator, strata: int, size: int) -> tuple[Floats, Floats]:
        """Return the factor, shape (size,), and simulated outcomes, shape (SIMULATED, strata, size)."""
        one = (np.arange(size) % 2).astype(float)
        share = np.clip(self.base + (one - 0.5) * self.difference, 0.02, 0.98)
        return one, (random.random((SIMULATED, strata, size)) < share).astype(float)


@dataclass(frozen=True)
class Shifted:
    """Outcomes of the one half of the reeds lie higher by `shift`, in standard deviations within strata."""

    shift: float

    def draw(self, random: np.random.Generator, strata: int, size: int) -> tuple[Floats, Floats]:
        """As in `Shares`."""
        one = (np.arange(size) % 2).astype(float)
        return one, _ranked(random.normal(size=(SIMULATED, strata, size)) + one * self.shift)


@dataclass(frozen=True)
class Paired:
    """Of two reeds the one with more of the amount comes out better in `pairs` of all pairs, 0.5 to 1."""

    pairs: float

    def draw(self, random: np.random.Generator, strata: int, size: int) -> tuple[Floats, Floats]:
        """As in `Shares`; Kendall's tau of two normal variables is 2 / pi times the arcsine of their r."""
        r = float(np.sin(np.pi / 2 * (2 * self.pairs - 1)))
        amount = np.linspace(0.0, 1.0, size + 2)[1:-1]
        normal = np.array([NormalDist().inv_cdf(q) for q in amount])
        noise = random.normal(size=(SIMULATED, strata, size)) * np.sqrt(1 - r**2)
        return amount, _ranked(noise + r * normal)


@dataclass(frozen=True)
class Leaning:
    """Yes in `base` of all; of two reeds that differ in it, the one with more says yes in `pairs` of all."""

    base: float
    pairs: float

    def draw(self, random: np.random.Generator, strata: int, size: int) -> tuple[Floats, Floats]:
        """As in `Shares`; amounts lie evenly from -1 to 1, on average two thirds apart."""
        amount = np.linspace(-1.0, 1.0, size)
        slope = (self.pairs - 0.5) * 4 * self.base * (1 - self.base) / (2 / 3)
        share = np.clip(self.base + slope * amount, 0.02, 0.98)
        return amount, (random.random((SIMULATED, strata, size)) < share).astype(float)


def _ranked(values: Floats) -> Floats:
    # scipy.stats takes a second to import: only who asks pays for it
    from scipy.stats import rankdata

    ranked: Floats = rankdata(values, axis=-1)
    return ranked


World = Shares | Shifted | Paired | Leaning


def power(world: World, strata: int, size: int, alpha: float = 0.05) -> float:
    """Return in what share of simulated studios the test would tell.

    Parameters
    ----------
    world : Shares, Shifted, Paired or Leaning
    strata, size : int
        So many strata of so many reeds each; size at least 2.
    alpha : float
        The level at which it is tested: 0.05 over the number of questions.
    """
    factor, scores = world.draw(np.random.default_rng([SEED, strata, size]), strata, size)
    factor = factor - factor.mean()
    scores = scores - scores.mean(-1, keepdims=True)
    together = (scores * factor).sum((-1, -2))
    variance = (factor**2).sum() * (scores**2).sum((-1, -2)) / (size - 1)
    z = NormalDist().inv_cdf(1 - alpha / 2)
    return float((np.abs(together) > z * np.sqrt(variance)).mean())


def enough(world: World, strata: int, alpha: float = 0.05) -> int | None:
    """Return how many reeds in all, spread evenly over `strata`, would tell four times in five.

    The draws are seeded and the sizes tried few, so that it takes less than a second. None where even 600
    reeds would not do. Half of the reeds have the one factor, half the other.

    Source
    ------
    Own simulation of Cochran, Mantel and Haenszel's test by its normal law; four in five is common practice.
    """
    strata = max(1, strata)
    few, many = 0, 1
    while 2 * many * strata <= MOST and power(world, strata, 2 * many, alpha) < POWER:
        few, many = many, 2 * many
    if 2 * many * strata > MOST:
        return None
    while many - few > 1:
        half = (few + many) // 2
        few, many = (few, half) if power(world, strata, 2 * half, alpha) >= POWER else (half, many)
    return 2 * many * strata
