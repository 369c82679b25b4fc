"""Whether a photo had better be taken again: too dark, blurred, small, mirrored, or with the card cut off.

Nothing is refused by it. Brightness and blur are judged as where a photo is measured (`card_view`), and a
script does the same on the phone (static/js/send/quality.js), before the photo is up.
"""

from __future__ import annotations

import cv2
import numpy as np
from PIL import Image

from reeds.numbers.words import Labelled
from reeds.numbers.words import gettext_noop as _
from reeds.photo.vision.arrays import Pixels
from reeds.photo.vision.card import ABOVE, BELOW
from reeds.photo.vision.markers import detect, is_mirrored
from reeds.photo.vision.sharpness import edge_blur_px

# judged at this size, so that one limit holds for every phone
LONG_SIDE_PX = 800
# the brightest hundredth of a photo in which a reed can be seen is brighter; own choice, held against
# ray-traced photos in tests/accuracy/quality.py: the darkest of those that can be measured has 104
DARKEST_HIGHLIGHT_GREY = 70.0
# a Gaussian blur's standard deviation as a share of the diagonal: as `card_view.BLUR_LIMIT_SHARE`, so that a
# photo that is not spoken of can be measured
BLUR_SHARE = 0.0015
# own choice: a reed that fills half of it has 7 px/mm, at which lengths are measured to 0.2 mm
LEAST_LONG_SIDE_PX = 1000
# one alone may be an accident of what lies about; of a whole card four are always seen
LEAST_MARKERS, ENOUGH_MARKERS = 2, 4


class Doubt(Labelled):
    """What may be wrong with a photo: its lasting word, and how a page names it."""

    DARK = "dark", _("too dark")
    BLURRED = "blurred", _("blurred")
    SMALL = "small", _("few pixels")
    MIRRORED = "mirrored", _("mirrored")
    CUT = "cut", _("the card is cut off")

    @property
    def advice(self) -> str:
        """What to do about it, a marked sentence."""
        return _ADVICE[self]


_ADVICE = {
    Doubt.DARK: _("It looks too dark. Take it again, in daylight or under a lamp?"),
    Doubt.BLURRED: _("It looks blurred. Tap on the reed to focus, hold still, and take it again?"),
    Doubt.SMALL: _("It has few pixels. Take it again, or send it as the camera took it?"),
    Doubt.MIRRORED: _("It is mirrored. Take it again with the camera on the back of the phone?"),
    Doubt.CUT: _("The card is cut off. Take it again so that all of it shows?"),
}


def doubts_of(picture: Image.Image) -> list[Doubt]:
    """Return what may be wrong with a photo, in the order in which it is put right; mostly nothing.

    Parameters
    ----------
    picture : PIL.Image.Image
        Upright, as large as the camera took it.

    Returns
    -------
    list of Doubt
        The card is only judged in a photo that is neither dark nor blurred.
    """
    gray = _grey(picture, LONG_SIDE_PX)
    few = [Doubt.SMALL] if max(picture.size) < LEAST_LONG_SIDE_PX else []
    if is_dark(gray):
        return [Doubt.DARK, *few]
    if is_blurred(gray):
        return [Doubt.BLURRED, *few]
    return [*_of_the_card(_grey(picture, 2 * LONG_SIDE_PX)), *few]


def is_dark(gray: Pixels) -> bool:
    """Tell whether even the brightest hundredth of a picture (height, width) is dark."""
    return float(np.percentile(gray, 99)) < DARKEST_HIGHLIGHT_GREY


def is_blurred(gray: Pixels) -> bool:
    """Tell whether a picture (height, width) of `LONG_SIDE_PX` is blurred even where it is sharpest."""
    return edge_blur_px(gray) > BLUR_SHARE * float(np.hypot(*gray.shape))


def _of_the_card(gray: Pixels) -> list[Doubt]:
    seen = detect(gray).ids
    if len(seen) < LEAST_MARKERS:
        return [Doubt.MIRRORED] if is_mirrored(gray) else []
    is_whole = len(seen) >= ENOUGH_MARKERS and not ABOVE.isdisjoint(seen) and not BELOW.isdisjoint(seen)
    return [] if is_whole else [Doubt.CUT]


def _grey(picture: Image.Image, long_side: int) -> Pixels:
    share = long_side / max(picture.size)
    if share < 1:
        size = (max(1, round(picture.width * share)), max(1, round(picture.height * share)))
        picture = picture.resize(size, Image.Resampling.BOX, reducing_gap=2.0)
    return np.asarray(cv2.cvtColor(np.asarray(picture.convert("RGB")), cv2.COLOR_RGB2GRAY), dtype=np.uint8)
