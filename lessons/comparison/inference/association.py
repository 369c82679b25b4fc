"""Whether outcome and factor go together within strata: one family of tests, by permuting within strata."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lessons.comparison.inference.strata import Floats, Ints, Laid, midranks
from reeds.numbers.late import np

PERMUTATIONS = 4999
SEED = 20261127
# random numbers drawn for one test at most: keeps a large studio's page within seconds and its memory small
MOST_DRAWN = 4_000_000
# shuffled in rounds of so many; who has done as well as chance in so many of a round needs no further one
ROUND, ENOUGH = 1000, 150


@dataclass(frozen=True)
class Association:
    """A test of no association within strata.

    Attributes
    ----------
    statistic : float
        Cochran-Mantel-Haenszel statistic; chi-squared with `df` degrees of freedom where there is nothing.
    df : int
        0 where nothing differs, so that nothing can be tested.
    p : float
        By permutation within strata, 1 / (permutations + 1) to 1.
    """

    statistic: float
    df: int
    p: float


def association(data: Laid, permutations: int = PERMUTATIONS, seed: int = SEED) -> Association:
    """Test whether outcome and factor go together within strata.

    Outcomes of yes or no are taken as they are, others by their ranks within the stratum; groups are
    compared with each other, amounts by their ranks. So it is, within strata, Mantel and Haenszel's test for
    shares in two groups, van Elteren's for ranks in two groups, Kruskal and Wallis' for several groups, and
    Spearman's for amounts.

    Parameters
    ----------
    data : Laid
    permutations : int
        How often outcomes are shuffled within strata at most; fewer for very many cases, and where the
        first thousand say already that it is no more than chance.
    seed : int
        The same seed and data give the same p.

    Source
    ------
    Landis, Heyman and Koch, International Statistical Review 46 (1978) 237-254; the p of a permutation test
    with 1 added, Phipson and Smyth, Stat. Appl. Genet. Mol. Biol. 9 (2010) 39; both from memory.
    """
    if not data.n:
        return Association(0.0, 0, 1.0)
    design, scores = design_of(data), scores_of(data)
    inverse, df = _inverse_covariance(data, design, scores)
    if df == 0:
        return Association(0.0, 0, 1.0)
    together = scores @ design
    found = float(together @ inverse @ together)
    count = drawn = 0
    for shuffled in _shuffles(data.stratum, scores, permutations, seed):
        t = shuffled @ design
        count += int((np.einsum("mi,ij,mj->m", t, inverse, t) >= found * (1 - 1e-9)).sum())
        drawn += len(t)
        if count >= ENOUGH:
            break
    return Association(found, df, (1 + count) / (1 + drawn))


def design_of(data: Laid) -> Floats:
    """Return the factor as centred columns, shape (n, k): one a group but the first, or the ranks."""
    if data.levels:
        columns = [data.within(data.indicator(level)) for level in range(1, len(data.levels))]
    else:
        columns = [data.within(midranks(data.factor, data.stratum))]
    return np.stack(columns, axis=1)


def scores_of(data: Laid) -> Floats:
    """Return the outcomes as centred scores, shape (n,)."""
    plain = data.outcome if data.is_yes_or_no else midranks(data.outcome, data.stratum)
    return data.within(plain)


def _inverse_covariance(data: Laid, design: Floats, scores: Floats) -> tuple[Floats, int]:
    """Return the inverse of the statistic's covariance under permutation, shape (k, k), and its rank."""
    sizes = np.bincount(data.stratum)
    spread = np.bincount(data.stratum, weights=scores**2) / (sizes - 1)
    covariance = design.T @ (design * spread[data.stratum, None])
    largest = max(1.0, float(np.abs(covariance).max()))
    rank = int(np.linalg.matrix_rank(covariance, tol=1e-9 * largest))
    return np.linalg.pinv(covariance, hermitian=True, rcond=1e-9).astype(float), rank


def _shuffles(stratum: Ints, scores: Floats, permutations: int, seed: int) -> Iterator[Floats]:
    """Yield rounds of scores shuffled within strata, each of shape (some, n)."""
    random = np.random.default_rng(seed)
    n = len(stratum)
    left = max(min(permutations, MOST_DRAWN // n), min(permutations, ROUND))
    while left > 0:
        keys = random.random((min(ROUND, left), n)) + stratum
        yield scores[np.argsort(keys, axis=1)]
        left -= ROUND
