"""Drawing lots: who gets which, so that nobody chooses and both come equally often."""

from __future__ import annotations

from reeds.numbers.late import np

BLOCK = 4


def lots(places: int, seed: int, student: int, block: int = BLOCK) -> list[int]:
    """Return for each place 0 or 1, drawn in blocks so that both come equally often in each.

    Parameters
    ----------
    places : int
        How many blanks of one student, at least 0.
    seed : int
        The plan's own, not negative; kept, so that the draw can be done again.
    student : int
        A number for the student, not negative, so that each has a draw of their own.
    block : int
        After so many places both came equally often; even.

    Returns
    -------
    list of int, length `places`
        Of a last block that is cut short they differ by one at most.

    Raises
    ------
    ValueError
        If `block` is odd or `places` negative.

    Source
    ------
    Permuted blocks, as in ICH E9, section 2.3.2; from memory.
    """
    if block % 2 or block < 2 or places < 0:
        raise ValueError("A block holds both equally often: it is even.")
    random = np.random.default_rng([seed, student])
    drawn: list[int] = []
    while len(drawn) < places:
        size = min(block, places - len(drawn))
        half = [0, 1] * (size // 2) + ([int(random.integers(2))] if size % 2 else [])
        drawn += [int(one) for one in random.permutation(half)]
    return drawn
