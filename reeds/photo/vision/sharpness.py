"""How blurred a photo of the card is, judged by how slowly its markers' edges turn from white to black."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reeds.numbers.late import cv2, np
from reeds.photo.vision.arrays import Floats, Pixels, floats
from reeds.photo.vision.card import MARKER_MM, MarkersFound
from reeds.photo.vision.sampling import resample

if TYPE_CHECKING:
    from numpy.typing import NDArray

PROFILE_STEPS = 41
LEAST_CONTRAST_GREY = 40.0  # grey levels
SMOOTHINGS_PX = (1.5, 3.0)
BAND_PX, MARGIN_PX = 512, 32  # a smoothing reaches four times its width


def blur_px(gray: Pixels, found: MarkersFound) -> float:
    """Return the blur of the card's markers as the standard deviation of a Gaussian, px.

    Across the outer edges of every marker the brightness is sampled and averaged; the second moment
    of its slope is the blur's variance.

    Parameters
    ----------
    gray : uint8 array, (height, width)
    found : MarkersFound
        At least one marker.

    Returns
    -------
    float
        Median over all edges that are not half hidden, px; 0 for a perfect step.
    """
    widths = [
        _edge_blur(gray, four[i], four[(i + 1) % 4], four.mean(axis=0))
        for four in found.pixels
        for i in range(4)
    ]
    told = [w for w in widths if w is not None]
    return float(np.median(told)) if told else 0.0


def edge_blur_px(gray: Pixels) -> float:
    """Return how blurred a picture is where it is sharpest, whatever it shows; for one whose markers hide.

    A straight edge blurred by s has, smoothed further by t, a slope of contrast / sqrt(2 pi (s^2 + t^2)):
    from the slopes at two t follows s, whatever the contrast.

    Parameters
    ----------
    gray : uint8 array, (height, width)

    Returns
    -------
    float
        Standard deviation of a Gaussian blur, px, over the steepest thousandth of the picture; 0 where there
        is next to no contrast to judge by.
    """
    if float(np.ptp(np.percentile(gray, [0.5, 99.5]))) < LEAST_CONTRAST_GREY:
        return 0.0
    fine, coarse = (slopes(gray, smoothing) for smoothing in SMOOTHINGS_PX)
    steep = coarse >= np.percentile(coarse, 99.9)
    return blur_of(fine[steep], coarse[steep])


def blur_of(fine: NDArray[np.float32], coarse: NDArray[np.float32]) -> float:
    """Return the blur, px, of places whose slopes at the two smoothings are given: of the middle one."""
    ratio2 = float(np.median(fine / np.maximum(coarse, 1e-9))) ** 2
    low, high = (smoothing**2 for smoothing in SMOOTHINGS_PX)
    return float(np.sqrt(max(0.0, high - ratio2 * low) / max(ratio2 - 1, 1e-6)))


def slopes(gray: Pixels, smoothing: float) -> NDArray[np.float32]:
    """Return how steep a picture is once smoothed, grey levels a px.

    It is done in bands, since 60 megapixels as floats take gigabytes.
    """
    steep = np.empty(gray.shape, np.float32)
    for top in range(0, len(gray), BAND_PX):
        above = min(top, MARGIN_PX)
        band = floats(gray[top - above : top + BAND_PX + MARGIN_PX])
        down, right = np.gradient(floats(cv2.GaussianBlur(band, (0, 0), smoothing)))
        steep[top : top + BAND_PX] = np.hypot(down, right)[above : above + BAND_PX]
    return steep


def px_per_mm(found: MarkersFound) -> float:
    """Return the mean scale of the markers found, pixels a millimetre of the card."""
    sides = np.linalg.norm(found.pixels - np.roll(found.pixels, 1, axis=1), axis=2)
    return float(sides.mean() / MARKER_MM)


def _edge_blur(gray: Pixels, start: Floats, stop: Floats, middle: Floats) -> float | None:
    side = float(np.linalg.norm(stop - start))
    outwards = floats([stop[1] - start[1], start[0] - stop[0]]) / side
    if outwards @ ((start + stop) / 2 - middle) < 0:
        outwards = -outwards
    # a cell is a sixth of the side: the border inside is black that far, the paper outside is white
    reach = side / 6 * 0.95
    offsets = np.linspace(-reach, reach, PROFILE_STEPS)
    share = np.linspace(0.2, 0.8, 15)[:, None, None]
    spots = start + share * (stop - start) + offsets[None, :, None] * outwards - 0.5
    return _spread(resample(gray, spots[..., 0], spots[..., 1]).mean(axis=0), offsets)


def _spread(profile: Floats, offsets: Floats) -> float | None:
    slope = np.clip(np.diff(profile), 0, None)
    total = float(slope.sum())
    if total < 20:  # grey levels: no edge to speak of
        return None
    slope[slope < 0.02 * slope.max()] = 0
    slope /= slope.sum()
    middles = (offsets[1:] + offsets[:-1]) / 2
    centre = float(slope @ middles)
    return float(np.sqrt(slope @ (middles - centre) ** 2))
