"""That a large photo is blurred is found in the memory that a child has."""

import tracemalloc

import cv2
import numpy as np

from reeds.photo.vision.arrays import floats
from reeds.photo.vision.sharpness import BAND_PX, SMOOTHINGS_PX, edge_blur_px, slopes


def grainy(height, width):
    noise = np.random.default_rng(1).integers(0, 255, (height, width)).astype(np.uint8)
    return cv2.GaussianBlur(noise, (0, 0), 1.2)


def test_bands_give_the_slopes_of_the_whole():
    gray = grainy(2 * BAND_PX + 77, 300)
    for smoothing in SMOOTHINGS_PX:
        down, right = np.gradient(floats(cv2.GaussianBlur(floats(gray), (0, 0), smoothing)))
        assert np.allclose(slopes(gray, smoothing), np.hypot(down, right), atol=1e-5)


def test_it_takes_some_bytes_a_pixel_and_not_dozens():
    """At sixty megapixels forty bytes each were more than a child may have, and the photo 'broke off'."""
    gray = np.tile(np.kron([[30, 220], [220, 30]], np.ones((100, 100))).astype(np.uint8), (10, 10))
    tracemalloc.start()
    edge_blur_px(gray)
    _now, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak / gray.size < 30
