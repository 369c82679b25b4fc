"""What the demo's teacher asked of the finished term, and a comparison that is under way."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from lessons.comparison.actions import ask, set_plan
from lessons.comparison.models import Differs, PlannedComparison
from lessons.demo import truth
from lessons.demo.unsaved import DemoStudio
from studio.models import Member, Term

# the same draw at every load
SEED = 20261127
REST = ("7", "28")
DAYS_TO_GO = 60


def write_comparisons(demo: DemoStudio, students: Iterable[Member]) -> None:
    """Ask whether rest helps, of all reeds and of either cane, and plan to find out by lot."""
    finished = Term.objects.get(studio=demo.studio, name=truth.TERM)
    for lot in ("", *(lot.label for lot in truth.LOTS)):
        ask(finished, demo.teacher, "played", ["rest"], lot)
    one, other = REST
    until = dt.datetime.now(demo.studio.zone).date() + dt.timedelta(days=DAYS_TO_GO)
    wanted = {"differs": Differs.REST, "one": one, "other": other, "outcome": "played", "blanks_each": 4}
    plan = PlannedComparison(**wanted, until=until)
    set_plan(plan, demo.teacher, list(students)[:2], with_blanks=True, seed=SEED)
