"""Whether a photo had better be taken again: too dark, blurred, small, mirrored, or with the card cut off.

Nothing is refused by it. Scripts judge the same on the phone, before the photo is up (static/js/send):
quality.js, and card.js, which reads the markers in a simpler way and says 'cut off' only where one would lie
outside.
"""

from __future__ import annotations

import numpy as np

from reeds.photo.vision.arrays import Pixels
from reeds.photo.vision.card import ABOVE, BELOW
from reeds.photo.vision.flaw import Flaw
from reeds.photo.vision.markers import detect, is_mirrored
from reeds.photo.vision.sampling import within
from reeds.photo.vision.sharpness import SMOOTHINGS_PX, blur_of, slopes

# judged at this size, so that one limit holds for every phone
LONG_SIDE_PX = 800
# the brightest hundredth of a photo in which a reed can be seen is brighter. Own choice: of the drawn and
# ray-traced photos that can be measured the darkest has 108, those taken in the dark have 13
DARKEST_HIGHLIGHT_GREY = 70.0
# a Gaussian blur's standard deviation as a share of the diagonal. Own choice: over the softest of the same
# photos, ray-traced openings seen very near, whose lips have 0.0017; photos of the card have 0.0008
BLUR_SHARE = 0.002
# own choice: a reed of 72 mm that fills half of it has 7 px/mm
LEAST_LONG_SIDE_PX = 1000
# a tile is an eighth of the picture; an edge of 40 grey levels, just blurred too much, is as steep as this
TILE_PX = 100
LEAST_SLOPE_GREY = 4.0  # grey levels a px
LEAST_EDGE_PX = 30
# one alone may be an accident of what lies about; of a whole card four are always seen
LEAST_MARKERS, ENOUGH_MARKERS = 2, 4


def flaws_of(large: Pixels) -> list[Flaw]:
    """Return what may be wrong with a photo, in the order in which it is put right; mostly nothing.

    Parameters
    ----------
    large : uint8 array, (height, width)
        Grey, upright, as large as the camera took it.

    Returns
    -------
    list of Flaw
        The card is only judged in a photo that is neither dark nor blurred.
    """
    few = [Flaw.SMALL] if max(large.shape) < LEAST_LONG_SIDE_PX else []
    larger = within(large, 2 * LONG_SIDE_PX)
    gray = within(larger, LONG_SIDE_PX)  # a mean of means
    if is_dark(gray):
        return [Flaw.DARK, *few]
    if is_blurred(gray):
        return [Flaw.BLURRED, *few]
    return [*_of_the_card(larger), *few]


def is_dark(gray: Pixels) -> bool:
    """Tell whether even the brightest hundredth of a picture (height, width) is dark."""
    return float(np.percentile(gray, 99)) < DARKEST_HIGHLIGHT_GREY


def is_blurred(gray: Pixels) -> bool:
    """Tell whether a picture (height, width) of `LONG_SIDE_PX` is blurred even where it is sharpest."""
    blur = sharpest_px(gray)
    return blur is not None and blur > BLUR_SHARE * float(np.hypot(*gray.shape))


def sharpest_px(gray: Pixels) -> float | None:
    """Return the blur of a picture's sharpest parts, as the standard deviation of a Gaussian, px.

    A reed seen near stands sharp before a table that is not, so the picture is judged in tiles, each by its
    steepest edges; the second sharpest tile counts, so that one glint or speck does not.

    Parameters
    ----------
    gray : uint8 array, (height, width)

    Returns
    -------
    float or None
        None where hardly a tile has an edge to judge by.
    """
    if min(gray.shape) < 2:  # a line has no slope across
        return None
    fine, coarse = (slopes(gray, smoothing) for smoothing in SMOOTHINGS_PX)
    blurs = []
    for top in range(0, len(gray), TILE_PX):
        for left in range(0, gray.shape[1], TILE_PX):
            here = np.s_[top : top + TILE_PX, left : left + TILE_PX]
            steep = coarse[here] >= max(LEAST_SLOPE_GREY, float(np.percentile(coarse[here], 99)))
            if steep.sum() >= LEAST_EDGE_PX:
                blurs.append(blur_of(fine[here][steep], coarse[here][steep]))
    return sorted(blurs)[1] if len(blurs) > 1 else None


def _of_the_card(gray: Pixels) -> list[Flaw]:
    seen = detect(gray).ids
    if len(seen) >= ENOUGH_MARKERS and not ABOVE.isdisjoint(seen) and not BELOW.isdisjoint(seen):
        return []
    if is_mirrored(gray):  # asked first: in a mirror two or three are read as others
        return [Flaw.MIRRORED]
    return [Flaw.CUT] if len(seen) >= LEAST_MARKERS else []
