"""Several questions asked of the same reeds: each answer has to bear them all."""

from __future__ import annotations

from collections.abc import Sequence


def holm(ps: Sequence[float]) -> list[float]:
    """Return each p as it stands beside the others, in the order given.

    Parameters
    ----------
    ps : sequence of float
        From 0 to 1, one a question asked; also those whose answer disappointed.

    Returns
    -------
    list of float
        Never smaller than what was given, at most 1. If none of the questions has anything to it, one of
        these is at most 0.05 in 5 of 100 such studios.

    Source
    ------
    Holm, Scandinavian Journal of Statistics 6 (1979) 65-70.
    """
    adjusted, so_far = [0.0] * len(ps), 0.0
    for step, place in enumerate(sorted(range(len(ps)), key=lambda place: ps[place])):
        so_far = max(so_far, min(1.0, (len(ps) - step) * ps[place]))
        adjusted[place] = so_far
    return adjusted
