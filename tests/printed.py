"""The printed card as a picture, drawn once a process: half a second, and hundreds of tests lie on it."""

import functools

import numpy as np

from reeds.photo import printing
from reeds.photo.vision.decode import read_picture


@functools.cache
def card_picture(dpi=300):
    """Return card 1 as an array (height, width, 3), 0 to 1, which nobody may paint on."""
    picture = read_picture(printing.png(1, dpi=dpi)).rgb / np.float64(255)
    picture.setflags(write=False)
    return picture
