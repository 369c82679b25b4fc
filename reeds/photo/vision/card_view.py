"""From an upright picture of a reed on the card to the camera that saw it, and every refusal on the way."""

from __future__ import annotations

from dataclasses import dataclass, field

from reeds.numbers.late import cv2, np
from reeds.numbers.measured import Measured
from reeds.numbers.words import gettext_noop
from reeds.photo.vision import card, markers, sharpness
from reeds.photo.vision.arrays import Floats, Pixels, floats
from reeds.photo.vision.camera import Frame, Solved, project, tilt_degrees
from reeds.photo.vision.card import MarkersFound
from reeds.photo.vision.field import cut_field
from reeds.photo.vision.landmarks import is_bare, propose_landmarks
from reeds.photo.vision.lengths import UNMEASURED_PRINT, Axis, Clicks, Points
from reeds.photo.vision.paper import Paper, solve_paper
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.solve import NO_FOCAL, Prior, focal_prior
from reeds.photo.vision.upright import UprightPicture

STEEPEST_DEGREES = 45.0
# too blurred: over 0.6 mm of the card, or over 0.15 % of the picture's diagonal
BLUR_LIMIT_MM = 0.6
BLUR_LIMIT_SHARE = 0.0015
LEAST_BLUR_PX = 2.0  # a sharp edge of a small picture looks this wide already
SPARSE = 8  # one pixel of so many tells how bright a picture is
DARKEST_WHITE_GREY = 45.0  # grey levels: white paper is brighter than this in a picture that tells enough
# corners off the card as it was fitted, bow and all, by more than this (rms): waves, folds or a wrong print.
# Set on tests/raytraced, half `fix`: flat cards and bows leave 0.06 to 0.11 px at 4 to 7 px/mm, waves 0.6
BEND_LIMIT_PX = 0.25
BEND_LIMIT_MM = 0.05
# a marker so many times as far off as half of them is a corner caught wrongly, as in the reed's shadow
STRAY = 4.0
MOST_STRAYS, LEAST_MARKERS = 2, 6

TOO_BLURRED = gettext_noop(
    "The photo is too blurred to measure: hold still, tap on the reed to focus, and take it again."
)
TOO_DARK = gettext_noop("The photo is too dark to find the card: take it in daylight or under a lamp.")
TOO_STEEP = gettext_noop(
    "The card is seen at over 45 degrees: hold the camera level above the card and take it again."
)
NO_REED = gettext_noop("No reed can be seen on the card: lay it on the blue field and take the photo again.")
OFF_CARD = gettext_noop("The reed lies off the card: lay it on the blue field and take the photo again.")
BENT = gettext_noop(
    "The card is not flat: press it flat, or print it on stiffer paper, and take the photo again."
)
NO_FACTOR = gettext_noop(
    "No printing factor was given: a printer's usual 3 per cent is in the doubt until the card's 100 mm bar "
    "is measured."
)


@dataclass(frozen=True)
class Settings:
    """What is known of a photo beside its pixels.

    Attributes
    ----------
    axis : Axis
        Height of the reed's axis above the card at foot and tip, mm.
    print_factor : Measured or None
        True over nominal length of the printed card; None for a print that nobody measured: a printer's
        usual 3 % is in the doubt then.
    focal_35mm : float or None
        Overrides what the file says, mm.
    """

    axis: Axis = field(default_factory=Axis)
    print_factor: Measured | None = None
    focal_35mm: float | None = None

    @property
    def factor(self) -> Measured:
        """The printing factor to compute with."""
        return self.print_factor or UNMEASURED_PRINT

    def focal_of(self, picture: UprightPicture) -> float | None:
        """The focal length to begin from, mm for a 35 mm frame, or None."""
        return self.focal_35mm if self.focal_35mm is not None else picture.focal_35mm


@dataclass(frozen=True)
class CardView:
    """A photo's card as solved: camera, how the paper lies, printing factor, and remarks for the person."""

    solved: Solved
    paper: Paper
    found: MarkersFound
    factor: Measured
    warnings: tuple[str, ...] = ()


def grey(picture: UprightPicture) -> Pixels:
    """Return the picture's brightness, (height, width) uint8."""
    return np.asarray(cv2.cvtColor(picture.rgb, cv2.COLOR_RGB2GRAY), dtype=np.uint8)


def view_card(picture: UprightPicture, settings: Settings) -> CardView:
    """Find the card in a picture and the camera that saw it.

    Raises
    ------
    PhotoRefused
        As `markers.find_markers`; too blurred (a Gaussian blur of the markers' edges over 0.6 mm of the
        card or 0.15 % of the picture's diagonal); a card in waves or folds; seen at over 45 degrees.
    """
    return solve_card(find_card(picture), Frame(*picture.size), settings, settings.focal_of(picture))


def find_card(picture: UprightPicture) -> MarkersFound:
    """Find the card's markers in a picture that is sharp enough.

    Raises
    ------
    PhotoRefused
        As `markers.find_markers`; too dark; too blurred.
    """
    gray = grey(picture)
    if float(np.percentile(gray[::SPARSE, ::SPARSE], 95)) < DARKEST_WHITE_GREY:
        raise PhotoRefused(TOO_DARK)
    try:
        found = markers.find_markers(gray)
    except PhotoRefused as refusal:
        # too blurred for most markers: to ask for the whole card would send the person astray
        few = refusal.sentence in (markers.TOO_FEW, markers.ONE_SIDE)
        raise (PhotoRefused(TOO_BLURRED) if few and _is_blurred(gray) else refusal) from None
    _refuse_blur(gray, found)
    return found


def _is_blurred(gray: Pixels) -> bool:
    """Tell whether the edges of a whole picture are too blurred for markers to be found."""
    limit = max(LEAST_BLUR_PX, BLUR_LIMIT_SHARE * float(np.hypot(*gray.shape)))
    return bool(sharpness.edge_blur_px(gray) > limit)


def solve_card(found: MarkersFound, frame: Frame, settings: Settings, focal: float | None) -> CardView:
    """Find the camera from markers found earlier: quick, and needs no picture.

    Parameters
    ----------
    found : MarkersFound
    frame : Frame
    settings : Settings
    focal : float or None
        Focal length for a 35 mm frame, mm; None where it is not known.

    Raises
    ------
    PhotoRefused
        A card in waves or folds; seen at over 45 degrees.
    """
    factor = settings.factor
    prior = focal_prior(frame, focal)
    found, solved, paper = _without_strays(found, frame, prior, factor.value)
    middle = floats([card.WIDTH_MM / 2, card.HEIGHT_MM / 2, 0]) * factor.value
    if tilt_degrees(solved.numbers, middle) > STEEPEST_DEGREES:
        raise PhotoRefused(TOO_STEEP)
    if solved.noise_px > max(BEND_LIMIT_PX, BEND_LIMIT_MM * sharpness.px_per_mm(found)):
        raise PhotoRefused(BENT)
    unknown = ((settings.print_factor is None, NO_FACTOR), (focal is None, NO_FOCAL))
    factor = Measured(factor.value, float(np.hypot(factor.u, paper.u_share)))
    return CardView(solved, paper, found, factor, tuple(text for said, text in unknown if said))


def _without_strays(
    found: MarkersFound, frame: Frame, prior: Prior, factor: float
) -> tuple[MarkersFound, Solved, Paper]:
    """Fit the card; a marker or two of which the finder caught a wrong corner are left out."""
    for _ in range(MOST_STRAYS + 1):
        solved, paper, off = solve_paper(found.card_mm * factor, found.pixels, frame, prior, factor)
        worst = int(np.argmax(off))
        if off[worst] <= STRAY * float(np.median(off)) or len(found.ids) <= LEAST_MARKERS:
            break
        kept = [i for i in range(len(found.ids)) if i != worst]
        found = MarkersFound(tuple(found.ids[i] for i in kept), found.pixels[kept])
    return found, solved, paper


def _refuse_blur(gray: Pixels, found: MarkersFound) -> None:
    blur = sharpness.blur_px(gray, found)
    diagonal = float(np.hypot(*gray.shape))
    if blur > BLUR_LIMIT_MM * sharpness.px_per_mm(found) or blur > BLUR_LIMIT_SHARE * diagonal:
        raise PhotoRefused(TOO_BLURRED)


def card_outline_px(view: CardView) -> Floats:
    """Return the card's four corners as seen, (4, 2) px, clockwise from its top left."""
    width, height = card.WIDTH_MM * view.factor.value, card.HEIGHT_MM * view.factor.value
    corners = floats([[0, 0, 0], [width, 0, 0], [width, height, 0], [0, height, 0]])
    return project(view.solved.numbers, view.solved.frame, corners)


def refuse_off_card(view: CardView, points: Points) -> None:
    """Raise PhotoRefused if any landmark lies outside the card as seen."""
    outline = card_outline_px(view).astype(np.float32).reshape(-1, 1, 2)
    for x, y in points.values():
        if cv2.pointPolygonTest(outline, (float(x), float(y)), False) < 0:
            raise PhotoRefused(OFF_CARD)


def propose(picture: UprightPicture, view: CardView) -> Clicks:
    """Return the landmarks that are sure, each with the doubt of its proposal.

    Raises
    ------
    PhotoRefused
        If nothing lies on the card's field, or what lies there is not as long as a reed or runs off it.
    """
    factor = view.factor.value
    field_seen = cut_field(picture, view.solved, factor, sharpness.px_per_mm(view.found))
    clicks = propose_landmarks(field_seen, view.solved, factor)
    if clicks is None:
        raise PhotoRefused(NO_REED if is_bare(field_seen) else OFF_CARD)
    return clicks
