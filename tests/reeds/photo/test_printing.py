"""The printed card: a PNG of exactly its size and a PDF at true scale, both drawn from one table."""

import base64
import io
import re
import zlib

import numpy as np
import pytest
from PIL import Image

from reeds.photo import printing as cards
from reeds.photo.vision import card

MM = 72 / 25.4


@pytest.mark.parametrize("dpi", [100, 300, 600])
def test_png_is_the_card_without_margin(dpi):
    image = Image.open(io.BytesIO(cards.png(1, dpi)))
    assert image.size == (round(148 / 25.4 * dpi), round(105 / 25.4 * dpi))
    assert image.info["dpi"] == pytest.approx((dpi, dpi), abs=0.1)


def test_png_has_each_marker_where_the_description_says():
    """The black border's area says where its edges are, to a fraction of a pixel."""
    grey = 1 - np.asarray(Image.open(io.BytesIO(cards.png(1, 300))).convert("L")) / 255
    scale = grey.shape[1] / 148
    for marker in cards.description(1)["markers"]:
        (x0, y0), _, (x1, y1), _ = marker["corners"]
        row, column = round((y0 + 1.3) * scale), round((x0 + 1.3) * scale)
        across = grey[row, round((x0 - 3) * scale) : round((x1 + 3) * scale)].sum() / scale
        down = grey[round((y0 - 3) * scale) : round((y1 + 3) * scale), column].sum() / scale
        assert (across, down) == pytest.approx((16, 16), abs=0.02)


@pytest.mark.parametrize("dpi", [0, 71, 2401])
def test_a_foolish_resolution_is_refused(dpi):
    with pytest.raises(ValueError, match="dpi"):
        cards.png(1, dpi)


def content_streams(pdf):
    """The drawing operators of each page, decompressed as the file itself says."""
    found = re.findall(rb"/Length \d+[^>]*>>\s*stream\r?\n(.*?)endstream", pdf, re.S)
    out = []
    for raw in found:
        data = raw.strip()
        if data.endswith(b"~>"):
            data = base64.a85decode(data[:-2])
        out.append(zlib.decompress(data).decode("latin-1"))
    return [text for text in out if " re" in text]


def test_pdf_has_the_card_alone_on_a6_and_twice_on_a4():
    boxes = re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", cards.pdf(4))
    sizes = [(float(w) / MM, float(h) / MM) for w, h in boxes]
    assert sizes[0] == pytest.approx((148, 105), abs=0.01)
    assert sizes[1] == pytest.approx((210, 297), abs=0.01)


def test_pdf_draws_every_marker_at_true_size():
    pages = content_streams(cards.pdf(4))
    sides = [
        [float(v) / MM for v in r]
        for r in re.findall(r"([\d.-]+) ([\d.-]+) ([\d.-]+) ([\d.-]+) re", pages[0])
    ]
    markers = [s for s in sides if abs(s[2] - 16) < 0.01 and abs(s[3] - 16) < 0.01]
    places = sorted((round(x, 1), round(105 - y - 16, 1)) for x, y, _, _ in markers)
    assert places == sorted((float(x), float(y)) for x, y in card.MARKER_PLACES_MM.values())
    twice = re.findall(r"([\d.-]+) ([\d.-]+) ([\d.-]+) ([\d.-]+) re", pages[1])
    assert sum(abs(float(r[2]) / MM - 16) < 0.01 and abs(float(r[3]) / MM - 16) < 0.01 for r in twice) == 20


def test_the_bar_is_100_mm_between_the_middles_of_its_end_strokes():
    bar = cards.description(1)["bar"]
    assert bar["to"][0] - bar["from"][0] == 100
    ends = [b for b in cards.boxes() if b.bottom - b.top == pytest.approx(3) and b.top == pytest.approx(73.5)]
    first, last = sorted((b.left + b.right) / 2 for b in ends)
    assert last - first == pytest.approx(100)


def test_the_cards_number_is_on_it_and_in_its_description():
    assert any("17" in line.text for line in cards.lines(17))
    assert cards.description(17)["number"] == 17


def test_words_of_another_language_take_the_place_of_the_english_ones():
    said = cards.Words(("Eins.", "Zwei."), "Hundert.", "Karte %(number)s")
    assert [line.text for line in cards.lines(2, said)] == ["Eins.", "Zwei.", "Hundert.", "Karte 2"]
