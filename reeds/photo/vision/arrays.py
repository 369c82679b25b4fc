"""The two kinds of array that the photo package hands about."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

from reeds.numbers.late import np

if TYPE_CHECKING:
    import numpy.typing as npt

Floats: TypeAlias = "npt.NDArray[np.float64]"
Pixels: TypeAlias = "npt.NDArray[np.uint8]"
Mask: TypeAlias = "npt.NDArray[np.bool_]"


def floats(values: Any) -> Floats:  # noqa: ANN401 - whatever numpy can read
    """Return `values` as an array of float64; raises ValueError if numpy cannot read them."""
    return np.asarray(values, dtype=np.float64)


def unit(vector: Floats) -> Floats:
    """Return `vector` at length one, same shape; the zero vector gives a ValueError."""
    length = float(np.linalg.norm(vector))
    if length == 0:
        raise ValueError("A direction needs a length.")
    return vector / length
