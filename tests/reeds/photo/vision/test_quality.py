"""What is said of a photo that had better be taken again; nothing is said of one that can be measured."""

from __future__ import annotations

import functools
import json
import re
import shutil
import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from lessons.demo.pictures import Look, lying
from reeds.photo.vision import quality
from reeds.photo.vision.card import DICTIONARY, MARKER_MM, MARKER_PLACES_MM
from reeds.photo.vision.quality import LEAST_LONG_SIDE_PX, Flaw, flaws_of, is_blurred, sharpest_px
from reeds.photo.vision.sampling import within
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
    return flaws_of(cv2.cvtColor(np.ascontiguousarray(rgb), cv2.COLOR_RGB2GRAY))


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


JUDGED = """
import { readFileSync } from "node:fs";
import { flawsOfCard, markersIn } from "./card.mjs";
const told = JSON.parse(process.argv[2]).map(([file, width, height]) => {
  const picture = { grey: Float32Array.from(readFileSync(file)), width, height };
  return [flawsOfCard(picture), [...markersIn(picture).seen.keys()].sort()];
});
console.log(JSON.stringify(told));
"""


def by_the_script(tmp_path, pictures):
    """What the phone's script says of the card in each, and which markers it reads."""
    (tmp_path / "card.mjs").write_text(Path("static/js/send/card.js").read_text())
    (tmp_path / "run.mjs").write_text(JUDGED)
    asked = []
    for number, rgb in enumerate(pictures):
        gray = within(cv2.cvtColor(np.ascontiguousarray(rgb), cv2.COLOR_RGB2GRAY), 1600)
        file = tmp_path / f"{number}.grey"
        file.write_bytes(gray.tobytes())
        asked.append((str(file), gray.shape[1], gray.shape[0]))
    command = [shutil.which("node"), str(tmp_path / "run.mjs"), json.dumps(asked)]
    return json.loads(subprocess.run(command, capture_output=True, check=True).stdout)  # noqa: S603


@pytest.mark.skipif(shutil.which("node") is None, reason="no node here: the browser's tests see it")
def test_the_script_on_the_phone_sees_a_mirror_and_a_cut_card_and_never_where_there_is_none(tmp_path):
    whole = [on_card(seed) for seed in SEEDS]
    cut = [rgb[:, : rgb.shape[1] * part // 100] for rgb in whole for part in (45, 55)]
    pictures = [*whole, *(rgb[:, ::-1] for rgb in whole), *(np.rot90(rgb) for rgb in whole), *cut, tip_on()]
    told = by_the_script(tmp_path, pictures)
    said = [flaws for flaws, _seen in told]
    assert said[:9] == [[]] * 3 + [["mirrored"]] * 3 + [[]] * 3
    assert [seen for _flaws, seen in told[:3]] == [list(range(10))] * 3
    by_us = [[flaw.value for flaw in flaws(rgb) if flaw is not Flaw.SMALL] for rgb in cut]
    assert [one for one in zip(said[9:-1], by_us, strict=True) if one[0] != one[1]] == []
    assert ["cut"] in by_us
    assert said[-1] == []


def test_the_script_knows_the_cards_own_markers():
    script = Path("static/js/send/card.js").read_text()
    bits = [int(one, 16) for one in re.findall(r"0x([0-9a-f]{4})", script)]
    places = json.loads(re.search(r"PLACES = (.*);", script)[1])
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY))
    for number, (x, y) in MARKER_PLACES_MM.items():
        inner = cv2.aruco.generateImageMarker(dictionary, number, 6)[1:5, 1:5] > 0
        assert bits[number] == int("".join(str(int(one)) for one in inner.ravel()), 2)
        assert places[number] == [x + MARKER_MM / 2, y + MARKER_MM / 2]


def test_few_pixels_are_seen_at_the_limit():
    picture = Image.fromarray(on_card())
    for side, said in ((LEAST_LONG_SIDE_PX, []), (LEAST_LONG_SIDE_PX - 1, [Flaw.SMALL])):
        height = side * picture.height // picture.width
        assert flaws(np.asarray(picture.resize((side, height)))) == said


def test_the_demo_draws_photos_of_which_nothing_is_said(tmp_path):
    file = tmp_path / "reed.jpg"
    file.write_bytes(lying(Look(staple=47, thread_end=48, length=71, scrape=11, tip=2.5), seed=3))
    with Image.open(file) as picture:
        assert flaws(np.asarray(picture)) == []


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
