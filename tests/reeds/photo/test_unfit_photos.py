"""Photos that cannot be measured, through both doors: the command and the page say the same sentence."""

from __future__ import annotations

import functools
import io
import uuid

import cv2
import numpy as np
import pytest
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.utils.html import escape
from PIL import Image

from reeds.photo.actions.photo import add_photo
from reeds.photo.tasks.look import look_at_photo
from reeds.photo.tasks.prepare import prepare_photo
from reeds.photo.vision.card import MARKER_PLACES_MM, marker_corners_mm
from reeds.photo.vision.card_view import NO_REED, TOO_BLURRED, TOO_DARK
from reeds.photo.vision.markers import OTHER_CARD, TOO_FEW, TWO_CARDS
from tests import factories as make
from tests.printed import card_picture
from tests.simulator.photo import Conditions, card_photo

DPI = 300


def laid(image, seed=7, **conditions):
    cond = Conditions(megapixels=(2, 2.5), tilt=(0, 15), **conditions)
    return card_photo(np.random.default_rng(seed), image, (148, 105), (36, 52.5), cond)


@functools.cache
def rendered(seed=7, **conditions):
    """The card as it is, in a photo that nobody may paint on."""
    photo = laid(card_picture(DPI), seed, **conditions)
    photo.rgb.setflags(write=False)
    return photo


def other_layout():
    """The card with its ten markers in each other's places."""
    image, per_mm = card_picture(DPI).copy(), DPI / 25.4
    spots = [tuple(round(v * per_mm) for v in place) for place in MARKER_PLACES_MM.values()]
    side = round(16 * per_mm)
    cut = [image[y : y + side, x : x + side].copy() for x, y in spots]
    for (x, y), part in zip(spots, np.roll(np.arange(10), 3), strict=True):
        image[y : y + side, x : x + side] = cut[part]
    return laid(image).rgb


def two_cards():
    """Two photos of the card as one."""
    above, below = (rendered(seed).rgb for seed in (7, 8))
    width = min(above.shape[1], below.shape[1])
    return np.vstack([above[:, :width], below[:, :width]])


def uncovered(photo, kept=()):
    """The photo with the markers painted over."""
    rgb = photo.rgb.copy()
    for number in set(MARKER_PLACES_MM) - set(kept):
        corners = photo.view.see(np.column_stack([marker_corners_mm(number), np.zeros(4)]))
        cv2.fillConvexPoly(rgb, np.round(corners).astype(np.int32), (240, 240, 240))
    return rgb


def half_hidden():
    """A second card behind, of which no marker is seen twice: half of each card's markers are covered."""
    above, below = (rendered(seed) for seed in (7, 8))
    top, bottom = uncovered(above, range(4)), uncovered(below, range(4, 10))
    width = min(top.shape[1], bottom.shape[1])
    return np.vstack([top[:, :width], bottom[:, :width]])


def plain_table():
    """No card at all: a soft gradient with a few blurred spots, and grain."""
    rng = np.random.default_rng(3)
    light = cv2.GaussianBlur(rng.normal(0, 1, (900, 1200)), (0, 0), 40)
    light = 140 + 30 * light / np.abs(light).max() + rng.normal(0, 3, light.shape)
    cv2.rectangle(light, (300, 300), (700, 520), 220, -1)
    return np.repeat(light.clip(0, 255).astype(np.uint8)[..., None], 3, axis=2)


UNFIT = {
    "another layout": (other_layout, OTHER_CARD),
    "two cards": (two_cards, TWO_CARDS),
    "two cards half hidden": (half_hidden, TWO_CARDS),
    "blur": (lambda: cv2.GaussianBlur(rendered().rgb, (0, 0), 9), TOO_BLURRED),
    "darkness": (lambda: (rendered().rgb * 0.06).astype(np.uint8), TOO_DARK),
    "markers painted over": (lambda: uncovered(rendered()), TOO_FEW),
    "no card": (plain_table, TOO_FEW),
    "no reed": (lambda: rendered(reed=False).rgb, NO_REED),
}


@pytest.mark.parametrize("name", UNFIT)
def test_it_is_refused_with_the_same_sentence_through_both_doors(name, student, as_member, tmp_path):
    draw, sentence = UNFIT[name]
    buffer = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(draw())).save(buffer, "JPEG", quality=90)

    (tmp_path / "a.jpg").write_bytes(buffer.getvalue())
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as stop:
        call_command("measure_photo", str(tmp_path / "a.jpg"), stdout=out, stderr=err)
    assert (stop.value.code, out.getvalue(), err.getvalue().strip()) == (2, "", sentence)

    reed = make.ReedFactory(owner=student)
    photo = add_photo(reed, student, ContentFile(buffer.getvalue(), name="a.jpg"), uuid.uuid4())
    prepare_photo.func(photo.pk)
    look_at_photo.func(photo.pk)
    page = as_member(student).get(student.to("reeds:measure", photo.pk))
    assert page.status_code == 200
    assert escape(sentence) in page.content.decode()


@pytest.mark.parametrize("seed", range(12))
def test_a_card_cut_off_anywhere_breaks_nothing(seed, tmp_path):
    """Whatever part of the picture is kept: lengths, or one sentence."""
    rng = np.random.default_rng(seed)
    rgb = rendered().rgb
    height, width = rgb.shape[:2]
    x0, x1 = sorted(rng.uniform(0, 1, 2)) if seed % 2 else (0, rng.uniform(0.3, 1))
    y0, y1 = (0, 1) if seed % 3 else sorted(rng.uniform(0, 1, 2))
    part = rgb[int(y0 * height) : int(y1 * height) + 1, int(x0 * width) : int(x1 * width) + 1]
    Image.fromarray(np.ascontiguousarray(part)).save(tmp_path / "a.png")
    out, err, status = io.StringIO(), io.StringIO(), 0
    try:
        call_command("measure_photo", str(tmp_path / "a.png"), stdout=out, stderr=err)
    except SystemExit as stop:
        status = stop.code
    assert (status, bool(out.getvalue())) in ((0, True), (2, False))
    assert status == 0 or len(err.getvalue().strip().splitlines()) == 1
