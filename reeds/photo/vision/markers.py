"""The card's markers found in one photo, or why they cannot be."""

from __future__ import annotations

from reeds.numbers.late import cv2, np
from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, Pixels, floats
from reeds.photo.vision.card import ABOVE, BELOW, DICTIONARY, MARKER_MM, MARKER_PLACES_MM, MarkersFound
from reeds.photo.vision.refusal import PhotoRefused

DETECT_LONG_SIDE_PX = 2000
# what no bend of the paper does to a marker, mm; and how many numbers seen twice are no accident
OUT_OF_PLACE_MM = 6.0
SEEN_TWICE = 2
OTHER_DICTIONARIES = (
    "DICT_5X5_50",
    "DICT_6X6_50",
    "DICT_7X7_50",
    "DICT_ARUCO_ORIGINAL",
    "DICT_APRILTAG_36h11",
)

TOO_FEW = gettext_noop(
    "Fewer than four whole markers of the card can be seen: take the photo so that the whole card shows."
)
ONE_SIDE = gettext_noop(
    "Markers can be seen on one side of the reed only: take the photo so that the whole card shows."
)
OTHER_CARD = gettext_noop(
    "The markers in this photo are not those of our card: print the card from here and lay the reed on it."
)
TWO_CARDS = gettext_noop(
    "More than one card can be seen: leave only the one under the reed in the picture and take it again."
)
MIRRORED = gettext_noop(
    "The picture is mirrored: take it with the back camera, or turn mirroring off, and send it again."
)


def find_markers(gray: Pixels) -> MarkersFound:
    """Find the card's markers, or refuse.

    Parameters
    ----------
    gray : uint8 array, (height, width)
        The upright picture.

    Raises
    ------
    PhotoRefused
        Mirrored picture, another dictionary's markers or ours in other places, two cards, fewer than four of
        ours, or none on one side of the reed.
    """
    found, twice = _detect(gray)
    if len(found.ids) < 4 or ABOVE.isdisjoint(found.ids) or BELOW.isdisjoint(found.ids):
        raise PhotoRefused(TWO_CARDS if len(twice) >= SEEN_TWICE else _why_too_few(gray, found))
    in_place = _in_place(found)
    if all(in_place):
        return found
    raise PhotoRefused(TWO_CARDS if twice or sum(in_place) >= 4 else OTHER_CARD)


def detect(gray: Pixels) -> MarkersFound:
    """Return the card's markers that can be read, corners refined at full size; may be none."""
    return _detect(gray)[0]


def _detect(gray: Pixels) -> tuple[MarkersFound, set[int]]:
    """Return the markers read once, and the numbers of those read more often."""
    small, scale = _shrink(gray)
    pairs = _read(small, DICTIONARY)
    numbers = [number for number, _ in pairs]
    # a marker seen twice is no evidence of anything: neither of the two is used
    twice = {number for number in numbers if number in MARKER_PLACES_MM and numbers.count(number) > 1}
    kept = [(n, c) for n, c in pairs if n in MARKER_PLACES_MM and n not in twice]
    refined = [_refine(gray, (c + 0.5) / scale - 0.5) for _, c in kept]
    pixels = np.stack(refined) + 0.5 if refined else np.zeros((0, 4, 2))
    return MarkersFound(tuple(n for n, _ in kept), pixels), twice


def _in_place(found: MarkersFound) -> list[bool]:
    """Tell of each marker whether it lies where the one card that most agree on has it; bends allowed."""
    flat, seen = found.card_mm.reshape(-1, 2), found.pixels.reshape(-1, 2)
    sides = np.linalg.norm(found.pixels - np.roll(found.pixels, 1, axis=1), axis=2)
    per_mm = float(np.median(sides)) / MARKER_MM
    matrix, _ = cv2.findHomography(flat, seen, cv2.RANSAC, OUT_OF_PLACE_MM / 2 * per_mm)
    if np.shape(matrix) != (3, 3):  # none was found
        return [False] * len(found.ids)
    off = cv2.perspectiveTransform(flat.reshape(-1, 1, 2), matrix).reshape(-1, 2) - seen
    worst = np.linalg.norm(off, axis=1).reshape(-1, 4).max(axis=1)
    return [bool(one) for one in worst < OUT_OF_PLACE_MM * per_mm]


def is_mirrored(gray: Pixels) -> bool:
    """Tell whether the card in `gray` is seen in a mirror: three of its markers read only when flipped.

    A picture without the card cannot be judged and gives False.
    """
    small, _ = _shrink(gray)
    found = detect(np.ascontiguousarray(small[:, ::-1]))
    return len(found.ids) >= 3


def _why_too_few(gray: Pixels, found: MarkersFound) -> str:
    if is_mirrored(gray):
        return MIRRORED
    if len(found.ids) >= 4:
        return ONE_SIDE
    small, _ = _shrink(gray)
    if any(len(_read(small, name)) > max(2, len(found.ids)) for name in OTHER_DICTIONARIES):
        return OTHER_CARD
    return TOO_FEW


def _shrink(gray: Pixels) -> tuple[Pixels, float]:
    # found small and refined large: as accurate as at full size and several times faster
    scale = min(1.0, DETECT_LONG_SIDE_PX / max(gray.shape))
    if scale == 1.0:
        return gray, scale
    half = cv2.resize(gray, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    return np.asarray(half, dtype=np.uint8), scale


def _read(gray: Pixels, dictionary: str) -> list[tuple[int, Floats]]:
    """Return number and corners (4, 2) of every marker of a dictionary, ascending."""
    book = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, dictionary))
    corners, ids, _ = cv2.aruco.ArucoDetector(book).detectMarkers(gray)
    numbers = [] if len(corners) == 0 else np.ravel(ids).astype(int).tolist()
    pairs = [(n, floats(c).reshape(4, 2)) for n, c in zip(numbers, corners, strict=True)]
    return sorted(pairs, key=lambda pair: pair[0])


def _refine(gray: Pixels, corners: Floats) -> Floats:
    """Refine four corners (pixel centres at whole numbers) to a fraction of a pixel."""
    shortest = float(np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1).min())
    window = int(np.clip(shortest / 12, 3, 15))
    start = corners.astype(np.float32).reshape(-1, 1, 2)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 50, 0.005)
    return floats(cv2.cornerSubPix(gray, start, (window, window), (-1, -1), stop)).reshape(4, 2)
