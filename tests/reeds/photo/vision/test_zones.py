"""What lies across the blades: a wire or a hair is looked past, under a fishskin nothing is told."""

from __future__ import annotations

import functools

import numpy as np
import pytest

from reeds.photo.vision.card_view import Settings, propose, view_card
from reeds.photo.vision.upright import UprightPicture
from reeds.photo.vision.zones import zones
from tests.on_card import simulated
from tests.simulator import drawing, other_drawing
from tests.simulator.photo import Conditions

ZONES = ("thread_end", "scrape_start", "back_start", "tip_start")
TRUE_MM = 1.0


def columns(shape, width):
    """Where along the reed, mm, the columns of the painted reed lie."""
    return np.arange(-3, shape.length + 3, 1 / drawing.PX_PER_MM)[:width] + 0.5 / drawing.PX_PER_MM


def band(rgba, shape, start, wide, rgb, share=1.0):
    """Lay a band across the reed's own part of the picture."""
    s = columns(shape, rgba.shape[1])
    part = (s > start) & (s < start + wide)
    rgba[:, part, :3] = (1 - share) * rgba[:, part, :3] + share * np.array(rgb)
    return rgba


def with_wire(painter, shape, rng):
    rgba = painter(shape, rng)
    return band(rgba, shape, shape.thread[1] + rng.uniform(3.5, 8), 0.7, (0.80, 0.62, 0.28))


def with_hair(painter, shape, rng):
    rgba = painter(shape, rng)
    return band(rgba, shape, rng.uniform(shape.thread[1] + 3, shape.length - 3), 0.12, (0.13, 0.08, 0.05))


def with_fishskin(painter, shape, rng):
    """Translucent, from the last turns of thread on to the bark."""
    rgba = painter(shape, rng)
    start, stop = shape.thread[1] - rng.uniform(2, 6), shape.thread[1] + rng.uniform(4, 9)
    return band(rgba, shape, start, stop - start, (0.93, 0.90, 0.82), 0.6)


def off_by(name, found, photo):
    """How far a proposal lies from the truth along the reed, mm."""
    foot, tip = (np.array(photo.marks[end]) for end in ("staple_foot", "tip"))
    way = (tip - foot) / np.linalg.norm(tip - foot)
    per_mm = np.linalg.norm(tip - foot) / photo.lengths["tie_length"]
    return float((np.array(found[name]) - photo.marks[name]) @ way / per_mm)


@pytest.mark.parametrize("across", [with_wire, with_hair, with_fishskin])
@pytest.mark.parametrize("seed", range(6))
def test_zones_are_null_or_right_whatever_lies_across(across, seed):
    painter = (drawing.paint, other_drawing.paint)[seed % 2]
    conditions = Conditions(painter=functools.partial(across, painter), megapixels=(2, 3), tilt=(0, 15))
    photo = simulated(500 + seed, conditions)
    picture = UprightPicture(photo.rgb, photo.focal_35mm)
    found = propose(picture, view_card(picture, Settings())).points
    off = {name: off_by(name, found, photo) for name in ZONES if name in found and name in photo.marks}
    assert all(abs(one) <= TRUE_MM for one in off.values()), off
    if across is with_fishskin:
        assert not {"thread_end", "scrape_start"} & {name for name in off if abs(off[name]) > 0.5}


def test_a_plain_reed_has_its_zones_proposed():
    photo = simulated(500, Conditions(megapixels=(2, 3), tilt=(0, 15)))
    picture = UprightPicture(photo.rgb, photo.focal_35mm)
    found = propose(picture, view_card(picture, Settings())).points
    assert {"thread_end", "scrape_start", "tip_start"} <= set(found)


WHITE, UNDER_SKIN, BARK, SCRAPED = (88, 0, 8), (84, 1, 12), (58, 10, 34), (74, 8, 38)


def along(*parts, px_per_mm=20):
    """Colours along a reed of 70 mm, (n, 3): each from its mm on."""
    at = np.arange(70 * px_per_mm) / px_per_mm
    which = np.searchsorted([start for start, _ in parts], at, side="right") - 1
    return np.array([rgb for _, rgb in parts], float)[which]


@pytest.mark.parametrize(("skin_from", "told"), [(None, True), (40.0, False)])
def test_a_fishskin_as_light_as_the_thread_hides_where_that_ends(skin_from, told):
    """What looks like the thread's end, 4 mm behind it, is the fishskin's: it was told in one of eight."""
    skin = [] if skin_from is None else [(skin_from, UNDER_SKIN)]
    lab = along((0, (50, 18, 30)), (32, WHITE), *skin, (47.7, BARK), (59.0, SCRAPED))
    found = zones(lab, lab, 20, 0.0, 1400.0)
    assert ("thread_end" in found) is told
    assert found.get("thread_end", 954.0) == pytest.approx(954.0, abs=2.0)
