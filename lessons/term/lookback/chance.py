"""How often chance alone would show as much, and which of many questions may be answered yes.

What is taken for granted: sittings are alike but for chance. Where one carries over to the next (a bag of
cane that lasts for weeks), a change that is none is said on one page in ten and not in twenty:
tests/accuracy/term.py.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Sequence
from functools import lru_cache, reduce
from typing import TYPE_CHECKING, TypeAlias

from reeds.numbers.late import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

Orders: TypeAlias = "NDArray[np.intp]"
# from an order of the reeds (a row each) to how much it shows; larger is later, or more at the end
Shown: TypeAlias = "Callable[[Orders], NDArray[np.float64]]"
Series = tuple[Shown, tuple[int, ...]]
# coarse first, and finely only where that may matter: a page asks this a hundred times
DRAWS = ((99, 0.12), (1_999, 0.004), (9_999, 0.0))
AT_ONCE = 256
SEED = 20_261_127
FALSE_IN = 0.05


def sittings(days: Iterable[Hashable]) -> tuple[int, ...]:
    """Return how many are of each day, from the days of what is in order of time: [1, 1, 3] -> (2, 1)."""
    return tuple(Counter(days).values())


def orders(sizes: tuple[int, ...], draws: int) -> Orders:
    """Return the order as it was, and `draws` in which whole sittings changed places: a row each.

    What was made in one sitting stays together, since it is alike for reasons that have nothing to do with
    time: one cane, one mood, one ruler. The same sizes give the same orders: a page says today what it said
    yesterday.
    """
    return _coarse(sizes, draws) if draws == DRAWS[0][0] else _fine(sizes, draws)


def _drawn(sizes: tuple[int, ...], draws: int) -> Orders:
    many, row = np.array(sizes), np.arange(draws)[:, None]
    rng = np.random.default_rng((SEED, draws, *sizes))
    turns = rng.permuted(np.broadcast_to(np.arange(len(many)), (draws, len(many))), axis=1)
    taken = many[turns]
    # where each sitting begins in each order, by sitting
    begins = np.empty_like(turns)
    begins[row, turns] = np.cumsum(taken, axis=1) - taken
    within = np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many)
    found = np.empty((1 + draws, len(within)), dtype=np.intp)
    found[0] = np.arange(len(within))
    found[1 + row, np.repeat(begins, many, axis=1) + within] = found[0]
    return found


# a page asks the same students again as a studio; the fine ones are large and seldom
_coarse = lru_cache(maxsize=512)(_drawn)
_fine = lru_cache(maxsize=4)(_drawn)


def chance(series: Sequence[Series]) -> tuple[float, float]:
    """Return which way something goes over the term, and how often chance would show as much either way.

    Parameters
    ----------
    series : sequence of (Shown, sizes)
        One for each student: what an order shows, and the sizes of the sittings as they were. What they show
        is added up; sittings change places within a student only.

    Returns
    -------
    way, p : float
        `way` is -1, 0 or 1; p counts the orders that lie as far from the middle of all. With fewer than four
        sittings p is never small.

    Source
    ------
    Phipson and Smyth, Statistical Applications in Genetics and Molecular Biology 9 (2010) 39: (1 + more) /
    (1 + draws), so that p is never 0; from memory.
    """
    way, p = 0.0, 1.0
    for draws, finer_below in DRAWS:
        all_of = reduce(np.add, [_shown(shown, orders(sizes, draws)) for shown, sizes in series])
        apart = all_of - all_of.sum() / (1 + draws)
        real = abs(apart[0]) - 1e-9 * (1 + abs(all_of[0]))
        # the real one is as far as itself
        way, p = float(np.sign(apart[0])), int((np.abs(apart) >= real).sum()) / (1 + draws)
        if p > finer_below:
            break
    return way, p


def _shown(shown: Shown, order: Orders) -> NDArray[np.float64]:
    """The same a few hundred at a time: what fits into the processor's cache is reckoned thrice as fast."""
    if len(order) <= AT_ONCE:
        return shown(order)
    return np.concatenate([shown(order[at : at + AT_ONCE]) for at in range(0, len(order), AT_ONCE)])


def later(values: Sequence[float]) -> Shown:
    """Return what shows whether these numbers rise with time: their ranks, weighed by place; scale 0 to 1."""
    n, ordered = len(values), sorted(values)
    # of equals each has the rank in the middle of theirs
    middles = [(bisect_left(ordered, one) + bisect_right(ordered, one) - n) / 2 for one in values]
    centred, weights = np.array(middles) / n, _weights(n)
    return lambda order: np.asarray(centred[order] @ weights, dtype=float)


def _weights(n: int) -> NDArray[np.float64]:
    return (np.arange(n) - (n - 1) / 2) / n


def wider_later(values: Sequence[Sequence[float]]) -> Shown:
    """Return what shows whether numbers lie wider apart with time, a place of its own for each third.

    Parameters
    ----------
    values : sequence of sequences, a row of quantities for each reed
        In order of time, each quantity in a unit in which its spread is about 1; nan where it was not
        measured.

    Distances are taken from the mean of each third, so that a hand that moved is not taken for one that
    spread; the means are taken anew for every order, so that all orders are alike where nothing changed.
    """
    n = len(values)
    third = np.arange(n) * 3 // n
    begins = [0, -(-n // 3), -(-2 * n // 3)]
    table = np.asarray(values, dtype=float)
    known = np.isfinite(table).astype(float)
    filled = np.where(known, table, 0.0)
    weights = _weights(n)

    def shown(order: Orders) -> NDArray[np.float64]:
        there, here = known[order], filled[order]
        counts = np.add.reduceat(there, begins, axis=1)
        means = np.add.reduceat(here, begins, axis=1) / np.maximum(counts, 1)
        apart = np.abs(here - means[:, third, :]) * there
        return np.asarray(weights @ apart.sum(axis=2).T, dtype=float)

    return shown


def said_by(chances: Sequence[float], false_in: float = FALSE_IN) -> list[bool]:
    """Return which of the questions may be answered yes, so that of those answers `false_in` are false at
    most.

    Parameters
    ----------
    chances : sequence of float
        A p value for each question of a page, 0 to 1.
    false_in : float
        The share of false answers among those given that is put up with in the long run.

    Returns
    -------
    list of bool
        In the order given. Where nothing is true at all, any answer is given in `false_in` of pages at most.

    Source
    ------
    Benjamini and Hochberg, Journal of the Royal Statistical Society B 57 (1995) 289-300.
    """
    ranked = sorted(range(len(chances)), key=lambda place: chances[place])
    passed = [rank for rank, place in enumerate(ranked, 1) if chances[place] <= rank * false_in / len(ranked)]
    yes = set(ranked[: max(passed, default=0)])
    return [place in yes for place in range(len(chances))]
