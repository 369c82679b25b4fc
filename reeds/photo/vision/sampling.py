"""Reading an array between its pixels, and smaller."""

from __future__ import annotations

from reeds.numbers.late import cv2, np
from reeds.photo.vision.arrays import Floats, Pixels, floats

GAMMA = 2.2  # of a phone's tone curve, nearly


def light_of(grey: Floats | Pixels) -> Floats:
    """Return grey levels, 0 to 255, in proportion to light, 0 to 255: a lens mixes light, not its code.

    What a pixel at an edge shows is a share of each side's light, so only there is half the way the edge.
    """
    if grey.dtype == np.uint8:
        return floats(light_of(np.arange(256.0))[grey])
    return floats(255 * (grey / 255) ** GAMMA)


def grey_of(light: Floats) -> Floats:
    """Return what `light_of` took."""
    return floats(255 * (light.clip(0, None) / 255) ** (1 / GAMMA))


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


def other_order(pixels: Pixels) -> Pixels:
    """Return red, green and blue as blue, green and red, in which OpenCV encodes, or back."""
    return np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2BGR), np.uint8)


def within(source: Pixels, side: int, *, quickly: bool = False) -> Pixels:
    """Return a picture no larger than `side`: each new pixel is the mean of all that it covers.

    Parameters
    ----------
    source : uint8 array, (height, width) or (height, width, 3)
    side : int
        Of the longer side, px; a picture that is no larger is returned as it is.
    quickly : bool
        Down to a half of its size by its four neighbours alone, at a sixth of the time: to be looked at.
    """
    height, width = source.shape[:2]
    share = side / max(height, width)
    if share >= 1:
        return source
    size = (max(1, round(width * share)), max(1, round(height * share)))
    how = cv2.INTER_LINEAR if quickly and share >= 0.5 else cv2.INTER_AREA
    return np.asarray(cv2.resize(source, size, interpolation=how), np.uint8)
