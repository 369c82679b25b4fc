"""Prints how long a 12-megapixel photo takes from markers to lengths, against the marker detector alone.

`python -m tests.bench.photos`: both timed in turn in one run, medians of 7; the bound is a ratio of 4.
"""

import io
import statistics
import sys
import time

import cv2
import numpy as np
from PIL import Image

from reeds.photo import printing as cards
from reeds.photo.vision import card
from reeds.photo.vision.card_view import Settings, grey, view_card
from reeds.photo.vision.lengths import Axis, Clicks
from reeds.photo.vision.scale import CardScale, lengths_by
from reeds.photo.vision.upright import UprightPicture
from tests.simulator.photo import Conditions, card_photo


def timed(work):
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main(rounds=7):
    image = np.asarray(Image.open(io.BytesIO(cards.png(1, dpi=400)))) / 255
    cond = Conditions(megapixels=(12, 12.1), distance=(180, 300))
    photo = card_photo(np.random.default_rng(501), image, (148, 105), (36, 52.5), cond)
    picture, axis = UprightPicture(photo.rgb), Axis()
    clicks = Clicks({k: tuple(map(float, p)) for k, p in photo.marks.items()})
    gray = grey(picture)
    book = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, card.DICTIONARY))

    def alone():
        cv2.aruco.ArucoDetector(book).detectMarkers(gray)

    def whole():
        lengths_by(CardScale(view_card(picture, Settings(axis, None, photo.focal_35mm))), clicks, axis)

    pairs = [(timed(alone), timed(whole)) for _ in range(rounds)]
    detector, ours = (statistics.median(p[i] for p in pairs) for i in (0, 1))
    ratio = ours / detector
    sys.stdout.write(
        f"{photo.rgb.shape[1]} x {photo.rgb.shape[0]} px: detector alone {detector * 1000:.0f} ms, "
        f"markers to lengths {ours * 1000:.0f} ms, ratio {ratio:.2f} (bound 4): "
        + ("met\n" if ratio <= 4 else "NOT MET\n")
    )


if __name__ == "__main__":
    main()
