"""What is said of a photo that had better be taken again; nothing is said of one that can be measured."""

from __future__ import annotations

import functools
import re
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from lessons.demo.pictures import Look, lying
from reeds.photo.vision import quality
from reeds.photo.vision.quality import LEAST_LONG_SIDE_PX, Flaw, flaws_of, is_blurred, sharpest_px
from reeds.photo.vision.sharpness import SMOOTHINGS_PX
from tests.printed import card_picture
from tests.simulator import other_drawing
from tests.simulator.opening import opening_photo
from tests.simulator.photo import Conditions, card_photo

SEEDS = (1, 2, 3)


@functools.cache
def on_card(seed=7, painter=other_drawing.paint):
    """A reed on the card, drawn by the drawing that no limit was chosen on."""
    cond = Conditions(megapixels=(2, 2.5), tilt=(0, 15), painter=painter)
    return card_photo(np.random.default_rng(seed), card_picture(), (148, 105), (36, 52.5), cond).rgb


@functools.cache
def tip_on(seed=7):
    return opening_photo(np.random.default_rng(seed)).rgb


def flaws(rgb):
    return flaws_of(np.ascontiguousarray(rgb))


def blurred(rgb, share):
    """Blurred by a Gaussian of so great a share of the diagonal."""
    return cv2.GaussianBlur(rgb, (0, 0), share * float(np.hypot(*rgb.shape[:2])))


@pytest.mark.parametrize("draw", [on_card, tip_on])
def test_nothing_is_said_of_a_photo_as_it_should_be(draw):
    assert [flaws(draw(seed)) for seed in SEEDS] == [[]] * len(SEEDS)


@pytest.mark.parametrize("draw", [on_card, tip_on])
def test_blur_and_darkness_are_seen(draw):
    for seed in SEEDS:
        assert flaws(blurred(draw(seed), 0.003)) == [Flaw.BLURRED]
        assert flaws((draw(seed) * 0.15).astype(np.uint8)) == [Flaw.DARK]


def test_a_reed_that_is_sharp_before_a_blurred_table_is_sharp():
    rgb, soft = tip_on(), blurred(tip_on(), 0.006)
    height, width = rgb.shape[:2]
    middle = np.s_[height // 3 : 2 * height // 3, width // 4 : 3 * width // 4]
    soft[middle] = rgb[middle]
    assert flaws(soft) == []


def test_a_backlit_reed_and_one_on_black_cloth_are_not_too_dark():
    light = np.full((1200, 1600, 3), 235, np.uint8)
    cv2.rectangle(light, (300, 550), (1300, 650), (20, 16, 12), -1)
    cloth = np.full((1200, 1600, 3), 8, np.uint8)
    cv2.rectangle(cloth, (300, 550), (1300, 650), (150, 120, 70), -1)
    assert flaws(light) == flaws(cloth) == []


def test_what_has_no_edge_is_not_judged():
    plain = np.full((600, 800), 120, np.uint8)
    assert sharpest_px(plain) is None
    assert not is_blurred(plain)


def test_a_mirrored_card_and_one_that_is_cut_off_are_seen():
    assert flaws(on_card()[:, ::-1]) == [Flaw.MIRRORED]
    seen = [flaws(on_card(seed)[:, : on_card(seed).shape[1] * 45 // 100]) for seed in SEEDS]
    assert [Flaw.CUT] in seen
    assert all(one in ([Flaw.CUT], [], [Flaw.SMALL], [Flaw.CUT, Flaw.SMALL]) for one in seen)


def test_few_pixels_are_seen_at_the_limit():
    picture = Image.fromarray(on_card())
    for side, said in ((LEAST_LONG_SIDE_PX, []), (LEAST_LONG_SIDE_PX - 1, [Flaw.SMALL])):
        height = side * picture.height // picture.width
        assert flaws_of(np.asarray(picture.resize((side, height)))) == said


def test_the_demo_draws_photos_of_which_nothing_is_said(tmp_path):
    file = tmp_path / "reed.jpg"
    file.write_bytes(lying(Look(staple=47, thread_end=48, length=71, scrape=11, tip=2.5), seed=3))
    with Image.open(file) as picture:
        assert flaws_of(np.asarray(picture)) == []


def test_the_script_on_the_phone_has_the_same_limits():
    script = Path("static/js/send/quality.js").read_text()
    there = {name: float(value) for name, value in re.findall(r"^const ([A-Z_]+) = ([0-9.]+);", script, re.M)}
    assert there == {
        "LONG_SIDE": quality.LONG_SIDE_PX,
        "DARKEST_HIGHLIGHT": quality.DARKEST_HIGHLIGHT_GREY,
        "BLUR_SHARE": quality.BLUR_SHARE,
        "LEAST_LONG_SIDE": LEAST_LONG_SIDE_PX,
        "TILE": quality.TILE_PX,
        "LEAST_SLOPE": quality.LEAST_SLOPE_GREY,
        "LEAST_EDGE": quality.LEAST_EDGE_PX,
        "FINE": SMOOTHINGS_PX[0],
        "COARSE": SMOOTHINGS_PX[1],
    }
