"""Which tools can decide a row of the sheet at all: told beside the quantity before anybody measures."""

from __future__ import annotations

import math
from collections.abc import Mapping

from reeds.checks.conformity import can_decide
from reeds.checks.sheet import Limit
from reeds.numbers.registry import QUANTITIES, default_u
from reeds.numbers.vocabulary import Method


def doubts(quantity: str, studio: Mapping[Method, float] | None = None) -> dict[Method, float]:
    """Return the standard uncertainty of each tool that suits a quantity, in its unit.

    Photo and recording are left out: each of their results brings its own. `studio` as in `default_u`.
    """
    found = {way: default_u(QUANTITIES[quantity], way, studio) for way in QUANTITIES[quantity].methods}
    return {way: u for way, u in found.items() if u is not None}


def able(limit: Limit, studio: Mapping[Method, float] | None = None, u_clips: float = 0.0) -> list[Method]:
    """Return the tools with which a number could be within the limits at 95 %, the coarsest first.

    `u_clips` is the doubt that clips add whatever the tool, in the quantity's unit.
    """
    tools = doubts(limit.quantity, studio)
    able_ones = [way for way, u in tools.items() if can_decide(math.hypot(u, u_clips), limit.low, limit.high)]
    return sorted(able_ones, key=lambda way: -tools[way])


def unable(limit: Limit, studio: Mapping[Method, float] | None = None) -> list[Method]:
    """Return the tools that can never say within: with them only what is far off is told."""
    deciding = able(limit, studio)
    return [way for way in doubts(limit.quantity, studio) if way not in deciding]
