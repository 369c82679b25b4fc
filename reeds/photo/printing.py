"""The printed card as PDF and as PNG, drawn from the very table that photos are measured by."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reeds.numbers.late import cv2, np
from reeds.numbers.words import gettext_noop
from reeds.photo.vision import card
from reeds.photo.vision.arrays import Floats, floats

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

Colour = tuple[float, float, float]
BLACK: Colour = (0.0, 0.0, 0.0)
# light blue: cane, cork, brass, silver and most threads differ from it in hue, in light and in shade
TINT: Colour = (0.64, 0.80, 0.94)
LINE_MM = 0.3
TEXT_MM = 2.6
# a millimetre in the unit of PDF, 1/72 inch
MM = 72 / 25.4

INSTRUCTIONS = (
    gettext_noop("Lay the reed on the blue field: foot at the stroke, marked blade up, on its cork."),
    gettext_noop("Print at 100 %. Hold the camera level, 25 to 35 cm above; the whole card in the picture."),
)
BAR_TEXT = gettext_noop("This bar is 100 mm. Measure it once and note what you find for this card.")
NUMBER_TEXT = gettext_noop("Card number %(number)s")


@dataclass(frozen=True)
class FilledBox:
    """A filled rectangle: left, top, right, bottom in mm from the card's top left, and its colour."""

    left: float
    top: float
    right: float
    bottom: float
    colour: Colour = BLACK


@dataclass(frozen=True)
class TextLine:
    """A line of text: left end of its base line in mm, height of its letters in mm."""

    x: float
    y: float
    text: str
    height: float = TEXT_MM


@dataclass(frozen=True)
class Words:
    """The card's sentences, already in the reader's language."""

    instructions: tuple[str, ...] = INSTRUCTIONS
    bar: str = BAR_TEXT
    number: str = NUMBER_TEXT


def boxes() -> list[FilledBox]:
    """Return every filled rectangle of the card, mm, in drawing order."""
    field = [FilledBox(*card.FIELD_MM, TINT)]
    markers = [box for number in card.MARKER_PLACES_MM for box in _marker_boxes(number)]
    (x0, y), (x1, _) = card.BAR_MM
    half = LINE_MM / 2
    bar = [FilledBox(x0, y - half, x1, y + half)]
    ends = [FilledBox(x - half, y - 1.5, x + half, y + 1.5) for x in (x0, x1)]
    # the bar's length is taken between the middles of its end strokes
    foot = [FilledBox(card.FOOT_X_MM - half, card.FIELD_MM[1] - 2, card.FOOT_X_MM + half, card.FIELD_MM[1])]
    below = [FilledBox(card.FOOT_X_MM - half, card.FIELD_MM[3], card.FOOT_X_MM + half, card.FIELD_MM[3] + 2)]
    return field + markers + bar + ends + foot + below


def _marker_boxes(number: int) -> list[FilledBox]:
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, card.DICTIONARY))
    cells = dictionary.markerSize + 2
    bits = cv2.aruco.generateImageMarker(dictionary, number, cells)
    x, y = card.MARKER_PLACES_MM[number]
    side = card.MARKER_MM / cells
    black = [FilledBox(x, y, x + card.MARKER_MM, y + card.MARKER_MM)]
    lit = {(r, c) for r, c in np.argwhere(bits > 0).tolist()}
    # a white cell reaches into its white neighbours, else viewers show a hairline between them
    white = [
        FilledBox(
            x + c * side,
            y + r * side,
            x + (c + 1 + ((r, c + 1) in lit) / 2) * side,
            y + (r + 1 + ((r + 1, c) in lit) / 2) * side,
            (1.0, 1.0, 1.0),
        )
        for r, c in sorted(lit)
    ]
    return black + white


def lines(number: int, words: Words | None = None) -> list[TextLine]:
    """Return every line of text of card `number`, mm."""
    said = words or Words()
    above = [TextLine(27, 27.5 + 4.2 * i, text) for i, text in enumerate(said.instructions)]
    (x0, y), _ = card.BAR_MM
    return [
        *above,
        TextLine(x0 + 2, y - 1.6, said.bar),
        TextLine(x0 + 2, y + 4.6, said.number % {"number": number}),
    ]


def description(number: int) -> dict[str, object]:
    """Return where everything stands, mm from the card's top left, for scripts; plain JSON types."""
    return {
        "width_mm": card.WIDTH_MM,
        "height_mm": card.HEIGHT_MM,
        "number": number,
        "dictionary": card.DICTIONARY,
        "markers": [{"id": i, "corners": card.marker_corners_mm(i).tolist()} for i in card.MARKER_PLACES_MM],
        "reed": {
            "foot": [card.FOOT_X_MM, card.AXIS_Y_MM],
            "tip": [card.FOOT_X_MM + card.LONGEST_REED_MM, card.AXIS_Y_MM],
            "axis_y": card.AXIS_Y_MM,
            "longest_mm": card.LONGEST_REED_MM,
            "field": list(card.FIELD_MM),
        },
        "bar": {"from": list(card.BAR_MM[0]), "to": list(card.BAR_MM[1]), "length_mm": 100.0},
    }


def png(number: int, dpi: int = 600, words: Words | None = None) -> bytes:
    """Return the card as a PNG of exactly its size, without margin.

    Parameters
    ----------
    number : int
        The card's own number.
    dpi : int
        Pixels an inch, 72 to 2400; the sides are rounded to whole pixels and the drawing is scaled
        to them, edges between pixels drawn in shades of their true share.

    Raises
    ------
    ValueError
        If dpi is out of range.
    """
    from PIL import Image, ImageDraw, ImageFont  # as reportlab

    if not 72 <= dpi <= 2400:
        raise ValueError("A card is drawn at 72 to 2400 dpi.")
    width, height = round(card.WIDTH_MM / 25.4 * dpi), round(card.HEIGHT_MM / 25.4 * dpi)
    canvas = np.ones((height, width, 3))
    for box in boxes():
        _fill(canvas, box)
    image = Image.fromarray(np.round(canvas * 255).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    scale = width / card.WIDTH_MM
    for line in lines(number, words):
        font = ImageFont.load_default(line.height * scale)
        draw.text((line.x * scale, line.y * scale), line.text, fill="black", font=font, anchor="ls")
    out = io.BytesIO()
    image.save(out, "PNG", dpi=(dpi, dpi))
    return out.getvalue()


def _fill(canvas: Floats, box: FilledBox) -> None:
    height, width = canvas.shape[:2]
    x0, x1, across = _share(box.left, box.right, width / card.WIDTH_MM, width)
    y0, y1, down = _share(box.top, box.bottom, height / card.HEIGHT_MM, height)
    share = (down[:, None] * across)[..., None]
    part = canvas[y0:y1, x0:x1]
    canvas[y0:y1, x0:x1] = part * (1 - share) + share * floats(box.colour)


def _share(start: float, stop: float, scale: float, count: int) -> tuple[int, int, Floats]:
    """Return the first and last pixel between two places in mm and how much of each is covered."""
    first, last = int(np.floor(start * scale)), min(count, int(np.ceil(stop * scale)))
    edges = np.arange(first, last + 1)
    covered = np.clip(np.minimum(edges[1:], stop * scale) - np.maximum(edges[:-1], start * scale), 0, 1)
    return first, last, covered


def pdf(number: int, words: Words | None = None) -> bytes:
    """Return a PDF of two pages: the card alone on A6 landscape, and two of them on A4 with cutting lines."""
    from reportlab.pdfgen.canvas import Canvas  # slow to import, and a card is drawn seldom

    out = io.BytesIO()
    width, height = card.WIDTH_MM * MM, card.HEIGHT_MM * MM
    canvas = Canvas(out, pagesize=(width, height), invariant=True)
    _draw(canvas, number, words, 0, height)
    canvas.showPage()
    canvas.setPageSize((210 * MM, 297 * MM))
    left = (210 - card.WIDTH_MM) / 2 * MM
    for top in (297 - 35.0, 297 - 35.0 - card.HEIGHT_MM - 15.0):
        _draw(canvas, number, words, left, top * MM)
        canvas.setLineWidth(0.2)
        canvas.setDash(2, 2)
        canvas.rect(left, top * MM - height, width, height)
        canvas.setDash()
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw(canvas: Canvas, number: int, words: Words | None, left: float, top: float) -> None:
    for box in boxes():
        canvas.setFillColorRGB(*box.colour)
        canvas.rect(
            left + box.left * MM,
            top - box.bottom * MM,
            (box.right - box.left) * MM,
            (box.bottom - box.top) * MM,
            stroke=0,
            fill=1,
        )
    canvas.setFillColorRGB(*BLACK)
    for line in lines(number, words):
        canvas.setFont("Helvetica", line.height * MM)
        canvas.drawString(left + line.x * MM, top - line.y * MM, line.text)
