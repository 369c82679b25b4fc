"""Where a proposed end lies when lens and phone have done their part: half the light, not half the code."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from reeds.photo.vision import landmarks
from reeds.photo.vision.sampling import grey_of, light_of

EDGE, NEAR, RUN, GAP = 100.3, 100, 10, 8
FIELD, CANE, METAL = (0.02, 0.09, 0.30), (0.75, 0.62, 0.35), (0.9, 0.8, 0.6)


def seen(outside, inside, blur):
    """A step of light blurred by the lens, then coded in eight bits by the phone, (columns, 3)."""
    share = np.clip(np.arange(200) + 1 - EDGE, 0, 1)[:, None]
    light = (1 - share) * np.array(outside) + share * np.array(inside)
    light = cv2.GaussianBlur(light, (1, 0), 0.01, sigmaY=blur)
    return np.round(grey_of(255 * light)).astype(np.uint8)


@pytest.mark.parametrize("inside", [CANE, METAL])
@pytest.mark.parametrize("blur", [0.8, 3.0])
def test_a_blurred_end_is_where_half_the_light_is(inside, blur):
    code = seen(FIELD, inside, blur)
    assert landmarks._half_way(light_of(code) / 255, NEAR, RUN, GAP) == pytest.approx(EDGE, abs=0.06)
    by_code = landmarks._half_way(code / 255.0, NEAR, RUN, GAP)
    assert EDGE - by_code > 0.15 * blur  # it makes what is bright larger, the more the blurrier


def test_an_end_in_its_own_shadow_is_found_by_hue():
    """The field in shadow for half a millimetre before the end, lit beyond: ten columns a millimetre."""
    share = np.clip(np.arange(200) + 1 - EDGE, 0, 1)[:, None]
    shadow = np.where(np.arange(200) > EDGE - 6, 0.3, 1.0)[:, None]
    light = (1 - share) * shadow * np.array(FIELD) + share * np.array(CANE)
    light = cv2.GaussianBlur(light, (1, 0), 0.01, sigmaY=1.5)
    any_light = landmarks._share_in_any_light
    assert landmarks._half_way(light, NEAR, RUN, 4, any_light) == pytest.approx(EDGE, abs=0.06)
    # where both have one hue nothing but brightness tells them apart
    grey = light.mean(axis=1, keepdims=True) * np.ones(3)
    assert landmarks._half_way(grey, NEAR, RUN, 4, any_light) == landmarks._half_way(grey, NEAR, RUN, 4)


def test_a_rim_as_dark_as_the_shadow_before_it_is_found_by_hue():
    """Shadow on the field for six columns, then four of metal that mirrors it, then metal in the light."""
    share = np.clip(np.arange(200) + 1 - EDGE, 0, 1)[:, None]
    dark = np.where(np.abs(np.arange(200) - EDGE + 1) < 5, 0.2, 1.0)[:, None]
    light = dark * ((1 - share) * np.array(FIELD) + share * np.array(METAL))
    light = cv2.GaussianBlur(light, (1, 0), 0.01, sigmaY=1.0)
    found = [
        landmarks._half_way(light, NEAR + 2, RUN, 5, share)
        for share in (landmarks._share_by_hue, landmarks._share)
    ]
    assert found[0] == pytest.approx(EDGE, abs=0.3)
    assert found[1] > EDGE + 2


@pytest.mark.parametrize(("blur", "within"), [(0.8, 0.05), (2.0, 0.1), (3.0, 0.6)])
def test_a_foot_begins_near_its_edge_however_blurred(blur, within):
    """Long before the edge blur is a little warmer than the field: what lies there is no metal."""
    code = seen((0.25, 0.4, 0.6), (0.49, 0.25, 0.05), blur)
    logs = np.log(code / 255.0)
    warm = logs[:, 0] - logs[:, 2] - (logs[0, 0] - logs[0, 2])
    early = int(np.argmax(warm > landmarks.LEAST_WARMTH))
    by_level, by_rise = (
        landmarks._half_way(light_of(code) / 255, start, 4, 2) - EDGE
        for start in (early, landmarks._risen(warm, early, 5))
    )
    assert abs(by_rise) < within
    assert by_level < by_rise


def test_grey_levels_come_back_from_their_light():
    every = np.arange(256, dtype=np.uint8)
    np.testing.assert_allclose(grey_of(light_of(every)), every, atol=1e-9)
    np.testing.assert_allclose(light_of(every.astype(float)), light_of(every))
