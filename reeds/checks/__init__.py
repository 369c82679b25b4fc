"""The checks of a reed: plain numbers and a measuring sheet in, findings out; no database, no clock."""

from reeds.checks.facts import Clip, Reading, ReedFacts, Told, newest
from reeds.checks.findings import Finding, Outcome, in_order, need_of
from reeds.checks.registry import CHECKS, Check, run
from reeds.checks.sheet import Limit, Sheet, SheetError, sheet_problems
from reeds.checks.tools import able, unable

__all__ = [
    "CHECKS",
    "Check",
    "Clip",
    "Finding",
    "Limit",
    "Outcome",
    "Reading",
    "ReedFacts",
    "Sheet",
    "SheetError",
    "Told",
    "able",
    "in_order",
    "need_of",
    "newest",
    "run",
    "sheet_problems",
    "unable",
]
