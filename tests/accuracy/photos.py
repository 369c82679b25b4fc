"""Prints how well lengths and openings come out of simulated photos: `python -m tests.accuracy.photos [N]`.

N photos a condition (default 40), fixed seeds. `met`: the bound stated beside it is kept on these photos.
"""

import io
import sys
from dataclasses import dataclass, field

import numpy as np
from PIL import Image

from reeds import cards
from reeds.measured import Measured
from reeds.photos.camera import Frame
from reeds.photos.gap import find_outline
from reeds.photos.lengths import U_STATED_HEIGHT, Axis, Clicks, places
from reeds.photos.measure import Settings, lengths_on_card, propose, view_card
from reeds.photos.opening import figures
from reeds.photos.reference import KnownLength, lengths_by_id1, lengths_by_known
from reeds.photos.refusal import PhotoRefused
from reeds.photos.upright import Picture
from tests.simulator import drawing, other_drawing
from tests.simulator.beside import scene
from tests.simulator.opening import opening_photo
from tests.simulator.photo import Conditions, card_photo

SCORED = "tie_length"


@dataclass
class Row:
    """Errors and stated standard uncertainties of one condition."""

    name: str
    median: float | None = None
    p95: float | None = None
    unit: str = "mm"
    errors: list = field(default_factory=list)
    u: list = field(default_factory=list)

    def add(self, found, truth, scale=1.0):
        self.errors.append((found.value - truth) / scale)
        self.u.append(found.u / scale)

    def line(self):
        off, u = np.abs(self.errors), np.array(self.u)
        median, p95, held = np.median(off), np.percentile(off, 95), float((off <= 2 * u).mean())
        met = (self.median is None or median <= self.median) and (self.p95 is None or p95 <= self.p95)
        bound = "/".join("-" if b is None else f"{b:g}" for b in (self.median, self.p95))
        kept = "in" if 0.93 <= held <= 0.99 else "OUT"
        return (
            f"{self.name:<52}{len(off):>5}{median:>9.3f}{p95:>9.3f} {self.unit:<4}{bound:>10} "
            f"{'met' if met else 'NOT MET':<8}{held:>7.1%} {kept}"
        )


HEAD = f"{'condition':<52}{'n':>5}{'median':>9}{'95th':>9} {'':<4}{'bound':>10} {'':<8}{'k=2 holds':>9}"


def card_picture():
    return np.asarray(Image.open(io.BytesIO(cards.png(1, dpi=400)))) / 255


def stated_axis(heights):
    return Axis(*(Measured(h, U_STATED_HEIGHT) for h in heights))


def as_points(marks, rng=None, noise=0.0):
    return {k: tuple(map(float, p + (rng.normal(0, noise, 2) if noise else 0))) for k, p in marks.items()}


def given_landmarks(n, seed=101):
    """Card photos without a drawn reed: landmarks given, exact or clicked, focal length known or not."""
    rows = [
        Row("card, landmarks exact, focal known", 0.10, 0.30),
        Row("card, landmarks clicked +-0.5 px, focal known", 0.10, 0.30),
        Row("card, landmarks clicked +-1 px, focal known"),
        Row("card, landmarks exact, focal unknown", 0.20, 0.50),
        Row("card, landmarks clicked +-0.5 px, focal unknown", 0.20, 0.50),
    ]
    image = card_picture()
    for i in range(n):
        rng = np.random.default_rng([seed, i])
        photo = card_photo(rng, image, (148, 105), (36, 52.5), Conditions(reed=False))
        axis = stated_axis(photo.heights)
        known, unknown = (
            view_card(Picture(photo.rgb), Settings(axis, None, f)) for f in (photo.focal_35mm, None)
        )
        for row, view, noise in zip(
            rows, (known, known, known, unknown, unknown), (0, 0.5, 1, 0, 0.5), strict=True
        ):
            found = lengths_on_card(view, Clicks(as_points(photo.marks, rng, noise)), axis)
            row.add(found[SCORED], photo.lengths[SCORED])
    return [row.line() for row in rows]


LIMITS = {"staple_foot": (0.5, 0.90), "tip": (0.5, 0.90), "thread_end": (0.7, 0.80)}


def proposed_landmarks(n, painter, name, seed):
    image = card_picture()
    cond = Conditions(painter=painter, megapixels=(2, 8), turn=3.0)
    off = {k: [] for k in LIMITS}
    row = Row(f"card, landmarks proposed ({name})")
    for i in range(n):
        photo = card_photo(np.random.default_rng([seed, i]), image, (148, 105), (36, 52.5), cond)
        axis = stated_axis(photo.heights)
        view = view_card(Picture(photo.rgb), Settings(axis, None, photo.focal_35mm))
        clicks = propose(Picture(photo.rgb), view)
        mixed = as_points(photo.marks) | {f"{k} found": p for k, p in clicks.points.items()}
        at = places(view.solved.numbers, view.solved.frame, mixed, photo.heights)
        for k, found in off.items():
            if k in clicks.points:
                found.append(abs(float(at[f"{k} found"][0] - at[k][0])))
        lengths = lengths_on_card(view, clicks, axis)
        if SCORED in lengths:
            row.add(lengths[SCORED], photo.lengths[SCORED])
    lines = [row.line()]
    for k, found in off.items():
        limit, share = LIMITS[k]
        within, shown = float(np.mean(np.array(found) <= limit)), len(found) / n
        met = within >= share and shown >= 0.8
        lines.append(
            f"  {k}: proposed {shown:.0%} (80%), within {limit} mm {within:.0%} of those ({share:.0%}), "
            f"median {np.median(found):.3f}, 95th {np.percentile(found, 95):.3f} mm: "
            + ("met" if met else "NOT MET")
        )
    return lines


LEVEL = Conditions(tilt=(0, 10), distance=(250, 400))


def without_card(n, seed=301):
    rows = [
        (Row("ruler, parallel, level to 10 deg, from 25 cm", None, 0.6), LEVEL, False),
        (Row("ruler, tilt to 25 deg, from 15 cm"), Conditions(), False),
        (Row("ID-1 card, level to 10 deg, from 25 cm", None, 0.6), LEVEL, True),
        (Row("ID-1 card, tilt to 25 deg, from 15 cm"), Conditions(), True),
    ]
    for number, (row, cond, card) in enumerate(rows):
        for i in range(n):
            s = scene(np.random.default_rng([seed, number, i]), cond, card=card, click_px=0.7)
            frame, axis = Frame(s.view.lens.width, s.view.lens.height), stated_axis(s.heights)
            clicks = Clicks(as_points(s.marks))
            if card:
                found = lengths_by_id1(s.reference.tolist(), clicks, frame, s.focal_35mm, axis)
            else:
                known = KnownLength(s.span, s.reference[0], s.reference[1])
                found = lengths_by_known(known, clicks, frame, s.focal_35mm, axis)
            row.add(found[SCORED], s.lengths[SCORED])
    return [row.line() for row, _, _ in rows]


def openings(n, seed=401):
    ratio = Row("opening, height ratio, share of itself", 0.05, 0.12, "")
    uneven = Row("opening, unevenness", None, 0.05, "")
    refused = 0
    for i in range(n):
        photo = opening_photo(np.random.default_rng([seed, i]))
        try:
            found = figures(find_outline(Picture(photo.rgb)))
        except PhotoRefused:
            refused += 1
            continue
        ratio.add(found.height_ratio, photo.height_ratio, photo.height_ratio)
        uneven.add(found.unevenness, photo.unevenness)
    return [ratio.line(), uneven.line(), f"  refused: {refused} of {n}"]


def main(n=40):
    sys.stdout.write(f"Photos, {n} a condition, seeds 101 to 401\n{HEAD}\n")
    for lines in (
        given_landmarks(n),
        proposed_landmarks(n, drawing.paint, "first hand", 201),
        proposed_landmarks(n, other_drawing.paint, "second hand", 202),
        without_card(max(n, 200)),
        openings(n),
    ):
        sys.stdout.write("\n".join(lines) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:2]))
