"""Reading an array between its pixels."""

from __future__ import annotations

from reeds.numbers.late import cv2, np
from reeds.photo.vision.arrays import Floats, Pixels, floats


def resample(source: Floats | Pixels, x: Floats, y: Floats, *, outside: float | None = None) -> Floats:
    """Return `source` read at places between its pixels, linearly.

    Parameters
    ----------
    source : (height, width) or (height, width, channels) array
    x, y : arrays of one shape
        Places counted from the middle of the first pixel.
    outside : float, optional
        What stands beyond the rim; without it the rim goes on.
    """
    how = cv2.BORDER_REPLICATE if outside is None else cv2.BORDER_CONSTANT
    data = source if source.dtype == np.uint8 else source.astype(np.float32)
    level = outside or 0.0
    read = cv2.remap(
        data,
        x.astype(np.float32),
        y.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=how,
        borderValue=(level, level, level, level),
    )
    return floats(read)
