"""Whether an outline that was found can be the opening: two smooth lips that bow apart to two corners."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reeds.numbers.words import gettext_noop
from reeds.photo.vision.arrays import Floats, floats, unit
from reeds.photo.vision.opening import Outline, figures
from reeds.photo.vision.refusal import PhotoRefused

# own choices, no source, set on tests/raytraced, half `fix`, and wider than all of tests/simulator;
# shares of the height at the middle: how far an edge may be off a smooth curve (rms, at most), and its bow
ROUGHEST, WORST_SPOT = 0.04, 0.13
LEAST_BOW, MOST_BOW = -0.1, 1.1
# of the blades' width: by how much more the gap may end short of one corner than of the other
LOPSIDED = 0.06
UNLIKE_LIPS = gettext_noop(
    "What can be seen is no opening between two lit lips: light it from the front, and take it straight into "
    "the tip."
)


@dataclass(frozen=True)
class Edge:
    """One edge of the gap, in shares of the height at the middle: roughness, worst spot, bow outwards."""

    rough: float
    worst: float
    bow: float

    @property
    def is_lip(self) -> bool:
        """Whether a blade can have such an edge."""
        return self.rough <= ROUGHEST and self.worst <= WORST_SPOT and LEAST_BOW <= self.bow <= MOST_BOW


def refuse_what_is_no_gap(outline: Outline) -> None:
    """Raise PhotoRefused for an outline that no reed's opening has."""
    along = unit(outline.right - outline.left)
    across = floats([-along[1], along[0]])
    width = float(np.linalg.norm(outline.right - outline.left))
    height = figures(outline).height_ratio.value
    edges, ends = [], []
    for points, outwards in ((outline.upper, -1.0), (outline.lower, 1.0)):
        x, y = (points - outline.left) @ along / width, (points - outline.left) @ across / width
        edges.append(_edge(x, outwards * y / height))
        ends.append((float(x.min()), 1 - float(x.max())))
    lopsided = max(abs(left - right) for left, right in ends)
    if lopsided > LOPSIDED or not all(edge.is_lip for edge in edges):
        raise PhotoRefused(UNLIKE_LIPS)


def _edge(x: Floats, out: Floats) -> Edge:
    off = np.abs(out - np.polynomial.Polynomial.fit(x, out, 3)(x))
    curve = np.polynomial.Polynomial.fit(x, out, 2).convert().coef[2]
    return Edge(float(np.sqrt((off**2).mean())), float(off.max()), float(-curve / 4 * np.ptp(x) ** 2))
