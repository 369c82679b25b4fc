"""A small logistic model with a normal prior, and an intercept a student that is drawn to the common one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from reeds.numbers.late import np

if TYPE_CHECKING:
    from numpy.typing import NDArray

Floats: TypeAlias = "NDArray[np.float64]"
Ints: TypeAlias = "NDArray[np.int64]"

# standard deviation of the prior of the common intercept, in log odds: as good as none
SD_COMMON = 10.0
# the step after one as small as this is its square
MOST_STEPS, CLOSE = 50, 1e-6


class Priors(NamedTuple):
    """How far columns and students may matter: standard deviations in log odds, of what a standard deviation
    of a column does, and of the students' intercepts.
    """

    column: float
    student: float


# own choice, no source. Columns are never taken to matter less than 0.5: with few reeds the likeliest is too
# often next to nothing, and then chances are told too surely (tests/accuracy/foretelling.py)
TRIED = tuple(Priors(column, student) for column in (0.5, 1.0) for student in (0.4, 0.8, 1.6))


@dataclass(frozen=True)
class Fitted:
    """The most probable model, and how far it is known.

    Attributes
    ----------
    common : float
        Log odds of a blank that is average in every column, of a student nobody knows yet.
    columns : float array, shape (k,)
        Log odds a standard deviation.
    students : dict of student to place
        Where the intercept of each student stands in `covariance`, after the common one and the columns.
    values : float array, shape (1 + k + students,)
    covariance : float array, shape (1 + k + students, 1 + k + students)
        Of the normal law that touches the posterior at its top (Laplace).
    evidence : float
        Logarithm of how probable the outcomes are under these priors, by that same normal law.
    """

    students: dict[int, int]
    k: int
    priors: Priors
    values: Floats
    covariance: Floats
    evidence: float = 0.0

    @property
    def common(self) -> float:
        return float(self.values[0])

    @property
    def columns(self) -> Floats:
        return self.values[1 : 1 + self.k]

    def without(self, student: int) -> tuple[Priors, Floats]:
        """Return where to begin to learn the same without one student, who taught it too."""
        return self.priors, np.delete(self.values, self.students[student])

    def rows(self, x: Floats, students: Ints) -> Floats:
        """Return the design rows of reeds, (n, 1 + k + students); a student not known has no intercept."""
        out = np.zeros((len(x), len(self.values)))
        out[:, 0], out[:, 1 : 1 + self.k] = 1.0, x
        for student in self.students.keys() & set(students.tolist()):
            out[students == student, self.students[student]] = 1.0
        return out

    def log_odds(self, x: Floats, doubt: Floats, students: Ints) -> tuple[Floats, Floats]:
        """Return the log odds of reeds and their variance.

        Parameters
        ----------
        x, doubt : float arrays, shape (n, k)
            Columns in standard deviations from their mean, and the standard uncertainty of each.
        students : int array, shape (n,)
            Whose they are; one who taught nothing yet adds the spread of the students.

        Returns
        -------
        two float arrays, shape (n,)
        """
        rows = self.rows(x, students)
        variance = ((rows @ self.covariance) * rows).sum(axis=1)
        variance = variance + (doubt**2) @ self.columns**2
        unknown = np.array([student not in self.students for student in students.tolist()])
        return rows @ self.values, variance + unknown * self.priors.student**2


def likeliest(x: Floats, plays: Floats, students: Ints) -> Fitted:
    """Return the model under the priors that make the outcomes most probable, of those that are `TRIED`.

    Source
    ------
    Evidence approximation (type II maximum likelihood) by Laplace's integral: MacKay, Neural Computation 4
    (1992) 448-472; Bishop (2006), 4.4.1 and 3.5 (from memory).
    """
    found = [fit(x, plays, students, TRIED[0])]
    for priors in TRIED[1:]:
        found.append(fit(x, plays, students, priors, found[-1].values))
    return max(found, key=lambda one: one.evidence)


def fit(x: Floats, plays: Floats, students: Ints, priors: Priors, start: Floats | None = None) -> Fitted:
    """Return the model that these reeds teach.

    Parameters
    ----------
    x : float array, shape (n, k)
        Columns in standard deviations from their mean.
    plays : float array, shape (n,)
        1 for those that came to play, 0 for those that did not.
    students : int array, shape (n,)
    priors : Priors
        How far columns and students may matter.
    start : float array, shape (1 + k + students,), or None
        Where to begin to climb: it ends at the same top, sooner from near it.

    Raises
    ------
    ValueError
        If there is nothing to learn from, or a number is not finite.

    Source
    ------
    Penalised iteratively reweighted least squares, that is Newton's steps on the log posterior: Bishop,
    Pattern Recognition and Machine Learning (2006), 4.3.3 and 4.5 (from memory); the tests hold the values
    and the curvature against statsmodels.
    """
    if not len(x) or not np.isfinite(x).all():
        raise ValueError("A model is learnt from finite numbers of at least one reed.")
    places = {student: 1 + x.shape[1] + at for at, student in enumerate(sorted(set(students.tolist())))}
    size = 1 + x.shape[1] + len(places)
    empty = Fitted(places, x.shape[1], priors, np.zeros(size), np.zeros((size, size)))
    spreads = [SD_COMMON] + [priors.column] * x.shape[1] + [priors.student] * len(places)
    precision = np.array(spreads) ** -2.0
    rows = empty.rows(x, students)
    begun = np.zeros(size) if start is None else start
    values, curvature = _climb(rows, x.shape[1], plays, precision, begun)
    covariance = np.linalg.inv(curvature).astype(np.float64)
    evidence = _log_score(rows @ values, plays) - 0.5 * float(precision @ values**2)
    evidence += 0.5 * float(np.log(precision).sum() - np.linalg.slogdet(curvature)[1])
    return Fitted(places, x.shape[1], priors, values, covariance, evidence)


def _log_score(log_odds: Floats, plays: Floats) -> float:
    """The log likelihood of outcomes, by a sum that no odds overflow."""
    return float((plays * log_odds - np.logaddexp(0.0, log_odds)).sum())


def _climb(rows: Floats, k: int, plays: Floats, precision: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Newton's steps to the top of the log posterior, which has one; its place and its curvature there."""
    for _step in range(MOST_STEPS):
        chance = odds_to_chance(rows @ values)
        slope = rows.T @ (plays - chance) - precision * values
        curvature = _crossed(rows, k, chance * (1.0 - chance)) + np.diag(precision)
        step = np.linalg.solve(curvature, slope)
        values = values + step
        if float(np.abs(step).max()) < CLOSE:
            break
    return values, curvature


def _crossed(rows: Floats, k: int, weights: Floats) -> Floats:
    """The rows, transposed, times the weighted rows.

    A student's column is 1 in its own rows alone, so sums do there; what is left to multiply is so small that
    no library spreads it over threads, which would wait for each other longer than they reckon.
    """
    dense, students = rows[:, : 1 + k], rows[:, 1 + k :].shape[1]
    whose = rows[:, 1 + k :].argmax(axis=1)
    weighted = dense * weights[:, None]
    corner = [np.bincount(whose, column, students) for column in weighted.T]
    own = np.diag(np.bincount(whose, weights, students))
    return np.block([[dense.T @ weighted, np.array(corner)], [np.array(corner).T, own]])


def odds_to_chance(log_odds: Floats) -> Floats:
    """Return the chance, 0 to 1, of log odds of any size."""
    return 0.5 * (1.0 + np.tanh(0.5 * log_odds))


def mean_chance(log_odds: Floats, variance: Floats) -> Floats:
    """Return the chance averaged over the doubt of its log odds: the more doubt, the nearer to one half.

    Source
    ------
    MacKay, Neural Computation 4 (1992) 720-736, as in Bishop (2006), equation 4.153 (from memory).
    """
    return odds_to_chance(log_odds / np.sqrt(1.0 + np.pi * variance / 8.0))
