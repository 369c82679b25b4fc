"""A reed beside a ruler or an ID-1 card, as places only: what a person clicks, without pixels drawn."""

from dataclasses import dataclass

import numpy as np

from tests.simulator import drawing
from tests.simulator.photo import any_view, between, on_surface, reed_frame, true_lengths


@dataclass(frozen=True)
class Beside:
    view: object
    focal_35mm: float
    marks: dict
    lengths: dict
    heights: tuple
    reference: np.ndarray
    span: float


def scene(rng, cond, *, card=False, click_px=0.7, turn=1.5, off=(10, 25), shift=10):
    """`reference` has the two ruler clicks or the card's corners, px, with click noise; so have `marks`.

    `off` is how far from the reed's axis the ruler's or the card's edge lies, `shift` how far at most
    the ruler's middle lies from the reed's along it, mm.
    """
    shape = drawing.any_shape(rng)
    heights = (between(rng, cond.foot_height), between(rng, cond.tip_height))
    frame = reed_frame(rng, (0, 0), heights, shape.length, turn)
    world = {k: frame[0] + m[0] * frame[1] + m[1] * frame[2] for k, m in shape.marks().items()}
    side = rng.uniform(*off) * rng.choice([-1, 1])
    if card:
        x0, y0, lift = rng.uniform(-10, 0), side + (0 if side > 0 else -53.98), rng.choice([0.0, 0.76])
        corners = [[0, 0], [85.6, 0], [85.6, 53.98], [0, 53.98]]
        flat = np.array([[x0 + x, y0 + y, lift] for x, y in corners])
        span = 85.6
    else:
        span = rng.uniform(50, 100)
        x0 = rng.uniform(-shift, shift) + (shape.length - span) / 2
        lift = rng.uniform(0, 1)
        flat = np.array([[x0, side, lift], [x0 + span, side, lift]])
    need = np.vstack([flat, *world.values()])
    view, focal_35 = any_view(rng, cond, need, need.mean(axis=0))

    def shake(points):
        return points + rng.normal(0, click_px, points.shape)

    world = on_surface(view.place, frame, shape.marks(), shape.over())
    seen = dict(zip(world, shake(view.see(np.array(list(world.values())))), strict=True))
    return Beside(view, focal_35, seen, true_lengths(shape), heights, shake(view.see(flat)), span)
