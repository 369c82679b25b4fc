"""Prints how well lengths and openings come out of simulated photos, and fails where a bound is not kept.

`python -m tests.accuracy.photos [N] [PART ...]`: N independent photos a condition (default 400), parts
given, proposed, ruler, id1, opening (default all), fixed seeds. Nine photos in ten have 2 to 4 megapixels,
the others 8 to 12. About 20 minutes on one core. Exit status 1 if a bound is not met that the table does
not explain.
"""

import io
import sys
from dataclasses import dataclass, field

import numpy as np
from PIL import Image

from reeds.numbers.measured import Measured
from reeds.photo import printing as cards
from reeds.photo.vision.camera import Frame
from reeds.photo.vision.card_view import Settings, propose, view_card
from reeds.photo.vision.gap import find_outline
from reeds.photo.vision.lengths import LANDMARKS, U_PRINT_FACTOR, U_STATED_HEIGHT_MM, Axis, Clicks
from reeds.photo.vision.opening import figures
from reeds.photo.vision.projection import seen_homography, to_plane
from reeds.photo.vision.refusal import PhotoRefused
from reeds.photo.vision.ruler import KnownLength
from reeds.photo.vision.scale import CardScale, Id1Scale, RulerScale, lengths_by
from reeds.photo.vision.upright import UprightPicture
from tests.accuracy import table
from tests.simulator import drawing, other_drawing
from tests.simulator.beside import scene
from tests.simulator.opening import opening_photo
from tests.simulator.photo import Conditions, card_photo

SCORED = "tie_length"
HELD = (0.93, 0.99)
PRINTED_TRUE = Measured(1.0, U_PRINT_FACTOR)
SIZES = {"megapixels": (2, 4), "large": 0.1, "curve": 2}


@dataclass
class Row:
    """Errors and stated standard uncertainties of one condition.

    `median`, `p95` and `bias` are bounds. `why` explains what is beyond physics: `excused` is "95th", or
    "over" for an interval that holds more.
    """

    name: str
    median: float | None = None
    p95: float | None = None
    unit: str = "mm"
    why: str = ""
    bias: float | None = None
    excused: tuple = ()
    errors: list = field(default_factory=list)
    u: list = field(default_factory=list)
    every: list = field(default_factory=list)

    def add(self, found, truth, scale=1.0):
        self.errors.append((found.value - truth) / scale)
        self.u.append(found.u / scale)

    def add_lengths(self, found, truth):
        if SCORED in found:
            self.add(found[SCORED], truth[SCORED])
        self.every += [abs(m.value - truth[k]) <= 2 * m.u for k, m in found.items() if k in truth]

    def result(self):
        """The row's line and whether all is met or explained."""
        off = np.abs(self.errors)
        median, p95 = np.median(off), np.percentile(off, 95)
        held = float((off <= 2 * np.array(self.u)).mean())
        sound, short = (b is None or v <= b for b, v in ((self.median, median), (self.p95, p95)))
        bias = float(np.mean(self.errors))
        sound = sound and (self.bias is None or abs(bias) <= self.bias)
        met = sound and short
        kept = HELD[0] <= held <= HELD[1]
        bound = "/".join("-" if b is None else f"{b:g}" for b in (self.bias, self.median, self.p95))
        every = f"{np.mean(self.every):>8.1%}" if self.every else f"{'':>8}"
        line = (
            f"{self.name:<50}{len(off):>5}{bias:>+8.3f}{median:>8.3f}{p95:>8.3f} {self.unit:<3}{bound:>14} "
            f"{'met' if met else 'NOT MET':<8}{held:>7.1%} {'met' if kept else 'NOT MET':<8}{every}"
        )
        fine = sound and (short or "95th" in self.excused)
        fine = fine and (kept or ("over" in self.excused and held > HELD[1]))
        figures = {"bias": bias, "median": median, "p95": p95, "held": held}
        table.keep(
            "photos",
            {"condition": self.name, "n": len(off), "unit": self.unit, "refused": 0, "met": fine, **figures},
        )
        return (f"{line}\n    {self.why}" if self.why else line), fine


HEAD = (
    f"{'condition':<50}{'n':>5}{'bias':>8}{'median':>8}{'95th':>8} {'':<3}{'bound':>14} {'':<8}{'k=2':>7} "
    f"{'93..99%':<8}{'all':>8}"
)


def card_picture():
    return np.asarray(Image.open(io.BytesIO(cards.png(1, dpi=400)))) / np.float32(255)


def stated_axis(heights):
    return Axis(*(Measured(h, U_STATED_HEIGHT_MM) for h in heights))


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
        photo = card_photo(rng, image, (148, 105), (36, 52.5), Conditions(reed=False, **SIZES))
        axis = stated_axis(photo.heights)
        known, unknown = (
            view_card(UprightPicture(photo.rgb), Settings(axis, PRINTED_TRUE, f))
            for f in (photo.focal_35mm, None)
        )
        for row, view, noise in zip(
            rows, (known, known, known, unknown, unknown), (0, 0.5, 1, 0, 0.5), strict=True
        ):
            found = lengths_by(CardScale(view), Clicks(as_points(photo.marks, rng, noise)), axis)
            row.add_lengths(found, photo.lengths)
    return [row.result() for row in rows]


LIMITS = dict.fromkeys(("staple_foot", "tip", "thread_end"), (0.3, 0.90))


def proposed_landmarks(n, seed=201):
    """Reeds drawn by two hands in turn: the server's own landmarks, their errors along the axis."""
    image = card_picture()
    row = Row("card, landmarks proposed, focal known", 0.15, 0.45, bias=0.05)
    off, there, refused = {k: [] for k in LANDMARKS}, dict.fromkeys(LANDMARKS, 0), []
    for i in range(n):
        painter = (drawing.paint, other_drawing.paint)[i % 2]
        cond = Conditions(painter=painter, turn=3.0, **SIZES)
        photo = card_photo(np.random.default_rng([seed, i]), image, (148, 105), (36, 52.5), cond)
        there = {k: count + (k in photo.marks) for k, count in there.items()}
        axis = stated_axis(photo.heights)
        try:
            view = view_card(UprightPicture(photo.rgb), Settings(axis, PRINTED_TRUE, photo.focal_35mm))
            clicks = propose(UprightPicture(photo.rgb), view)
        except PhotoRefused:
            refused.append(i)
            continue
        for k, error in errors_along(view, clicks, photo).items():
            off[k].append(error)
        row.add_lengths(lengths_by(CardScale(view), clicks, axis), photo.lengths)
    said = (f"  refused: {len(refused)} of {n} {refused}", True)  # counted as not proposed
    return [row.result(), *(proposal_result(k, np.array(off[k]), there[k]) for k in LANDMARKS), said]


def errors_along(view, clicks, photo):
    """How far each proposal lies from its truth along the axis, mm; infinite where there is no such place."""
    true = as_points(photo.marks)
    matrix = seen_homography(view.solved.numbers, view.solved.frame, true, photo.heights)
    return {
        k: abs(to_plane(matrix, *p)[0] - to_plane(matrix, *true[k])[0]) if k in true else np.inf
        for k, p in clicks.points.items()
    }


def proposal_result(name, found, there):
    if len(found) == 0:
        return f"  {name}: never proposed", name not in LIMITS
    limit, share = LIMITS.get(name, (0.7, 0.0))
    within, shown = float(np.mean(found <= limit)), len(found) / there
    met = name not in LIMITS or (within >= share and shown >= 0.8)
    bounds = (" (80%)", f" ({share:.0%})") if name in LIMITS else ("", "")
    reached = f"{within:.1%} within {limit} mm" + (f", must be {share:.0%}" if name in LIMITS else "")
    told = {"condition": f"card, proposed {name}", "n": len(found), "reached": reached}
    table.keep("photos", {**told, "met": met if name in LIMITS else None})
    line = (
        f"  {name:<12} proposed {shown:6.1%}{bounds[0]}, within {limit} mm {within:6.1%}{bounds[1]}, "
        f"median {np.median(found):.3f}, 95th {np.percentile(found, 95):.3f} mm"
    )
    return line + ("" if name not in LIMITS else ": met" if met else ": NOT MET"), met


LEVEL = Conditions(tilt=(0, 10), distance=(250, 400))
ANY_TILT = {
    "why": "(over: two clicks cannot tell a tilt of 10 degrees from one of 25, and the doubt covers 25)",
    "excused": ("over",),
}
FAR_EDGE = {
    "why": "(beyond two clicks: a tilt t makes d mm to the ruler d sin t of depth; 0.9 mm of 70 at d = 20)",
    "excused": ("95th", "over"),
}

ONE_OF_TWO = {
    "why": "(over: what is left is whether upper or lower edges were clicked, 0.76 mm apart: always one u)",
    "excused": ("over",),
}


def by_ruler(s, frame, axis):
    known = KnownLength(s.span, s.reference[0], s.reference[1])
    return lengths_by(RulerScale(known, frame, s.focal_35mm), Clicks(as_points(s.marks)), axis)


def by_id1(s, frame, axis):
    return lengths_by(Id1Scale(s.reference.tolist(), frame, s.focal_35mm), Clicks(as_points(s.marks)), axis)


def beside(n, seed, method, rows):
    for number, (row, cond, more) in enumerate(rows):
        for i in range(n):
            s = scene(np.random.default_rng([seed, number, i]), cond, card=method is by_id1, **more)
            found = method(s, Frame(s.view.lens.width, s.view.lens.height), stated_axis(s.heights))
            row.add_lengths(found, s.lengths)
    return [row for row, _, _ in rows]


def ruler(n, seed=301):
    near, far = ({"off": off, "shift": shift} for off, shift in (((5, 15), 5), ((15, 25), 10)))
    poses = [
        (Row("ruler 5-15 mm off, level, >= 25 cm, exact", None, 0.6, **ANY_TILT), LEVEL, {"click_px": 0}),
        (Row("ruler 5-15 mm off, level, >= 25 cm, +-0.5 px", None, 0.6, **ANY_TILT), LEVEL, {}),
        (Row("ruler 15-25 mm off, level, >= 25 cm, +-0.5 px", None, 0.6, **FAR_EDGE), LEVEL, far),
        (Row("ruler 5-15 mm off, any pose, +-0.5 px"), Conditions(), {}),
        (Row("ruler laid askew by 20 deg (sd), any pose, +-0.5 px"), Conditions(), {"turn": 20}),
    ]
    rows = beside(n, seed, by_ruler, [(r, c, {"click_px": 0.5} | near | more) for r, c, more in poses])
    mixed = Row("ruler 5-15 mm off, half level, half any pose, +-0.5")
    for part in (rows[1], rows[3]):
        mixed.errors, mixed.u, mixed.every = (
            getattr(mixed, k) + getattr(part, k) for k in ("errors", "u", "every")
        )
    return [row.result() for row in (*rows, mixed)]


def id1(n, seed=351):
    poses = [
        (Row("ID-1 card, level, >= 25 cm, exact", None, 0.6, **ONE_OF_TWO), LEVEL, {"click_px": 0}),
        (Row("ID-1 card, level, >= 25 cm, +-0.5 px", None, 0.6), LEVEL, {"click_px": 0.5}),
        (Row("ID-1 card, level, >= 25 cm, +-1 px"), LEVEL, {"click_px": 1}),
        (Row("ID-1 card, any pose, +-0.5 px"), Conditions(), {"click_px": 0.5}),
    ]
    return [row.result() for row in beside(n, seed, by_id1, poses)]


def openings(n, seed=401):
    ratio = Row("opening, height ratio, share of itself", 0.05, 0.12, "")
    uneven = Row("opening, unevenness", None, 0.05, "")
    area = Row("opening, area by the tip's width, share of itself", unit="")
    refused = 0
    for i in range(n):
        photo = opening_photo(np.random.default_rng([seed, i]))
        try:
            found = figures(find_outline(UprightPicture(photo.rgb)), Measured(photo.width, 0.0))
        except PhotoRefused:
            refused += 1
            continue
        ratio.add(found.height_ratio, photo.height_ratio, photo.height_ratio)
        uneven.add(found.unevenness, photo.unevenness)
        area.add(found.area_mm2, photo.area, photo.area)
    few = refused <= 0.05 * n
    said = (f"  refused: {refused} of {n} (at most 5%): {'met' if few else 'NOT MET'}", few)
    return [ratio.result(), uneven.result(), area.result(), said]


PARTS = {
    "given": given_landmarks,
    "proposed": proposed_landmarks,
    "ruler": ruler,
    "id1": id1,
    "opening": openings,
}


def main(*words):
    n = next((int(w) for w in words if w.isdigit()), 400)
    asked = [w for w in words if w in PARTS] or list(PARTS)
    sys.stdout.write(
        f"Photos, {n} a condition, seeds 101 given, 201 proposed, 301 ruler, 351 ID-1, 401 opening.\n"
        "Scored: the tie length; 'k=2': share of truths in the stated interval; 'all': of every length.\n"
        "Any pose: tilt to 25 degrees in any direction, 15 to 40 cm. Level: to 10 degrees, 25 to 40 cm.\n"
        f"{HEAD}\n"
    )
    fine = True
    for part in asked:
        for line, good in PARTS[part](n):
            sys.stdout.write(line + "\n")
            fine = fine and good
        sys.stdout.flush()
    sys.stdout.write("All met or explained.\n" if fine else "NOT all met.\n")
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
