"""The shapes that stand for one thing each, as pieces of an SVG path: told apart without any colour.

Places are in picture units; each function returns a closed piece that can stand beside others in one path.
"""

from __future__ import annotations

from collections.abc import Iterable

Place = tuple[float, float]


def dots(places: Iterable[Place]) -> str:
    """A full round dot."""
    return "".join(f"M{x} {y}m-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0z" for x, y in places)


def diamonds(places: Iterable[Place]) -> str:
    """A square on its corner."""
    return "".join(f"M{x} {y}m-5.5 0l5.5-5.5 5.5 5.5-5.5 5.5z" for x, y in places)


def up(places: Iterable[Place]) -> str:
    """A triangle whose tip touches the place from below: it goes on over the edge."""
    return "".join(f"M{x} {y}l5.5 9h-11z" for x, y in places)


def down(places: Iterable[Place]) -> str:
    """A triangle whose tip touches the place from above: it goes on under the edge."""
    return "".join(f"M{x} {y}l5.5-9h-11z" for x, y in places)


def bars(ends: Iterable[tuple[float, float, float]]) -> str:
    """An upright line at x from one y to another."""
    return "".join(f"M{x} {top}V{bottom}" for x, top, bottom in ends)
