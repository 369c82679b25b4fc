"""One reed, one step: of what wants scraping or clipping only the first in the order of work has its step."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from reeds.checks.comparing import after_clips, row_for
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import Finding
from reeds.checks.next_steps import LEAK_FIRST, NextStep, step_for
from reeds.checks.sheet import Sheet
from reeds.checks.work import Takes, Work
from reeds.numbers.words import gettext_noop as _

# the check of the opening, by the key that stands in its findings
EVENNESS = "evenness"
# as much as is clipped at a time: common practice from memory
CLIP_MM = 0.2

FIRST = _("This waits. First: %(first_label)s.")
NOT_SHORTER = _("Do not clip it: it is as short already as the sheet has it.")
SPOKEN_AGAINST = _("Take nothing off for this: something else that was found speaks against it.")
# what stands where a step would, and is none
NO_STEPS = frozenset({FIRST, SPOKEN_AGAINST})


def _row(found: Finding, facts: ReedFacts) -> NextStep | None:
    return step_for(facts.style, found.step_key) if found.step_key else None


def work_of(found: Finding, facts: ReedFacts) -> Work | None:
    """Return the work that a finding asks for, None where nothing is to be scraped or clipped for it.

    An uneven opening comes first even where no step is known for it: below the tip nothing is scraped on it.
    """
    if found.check == EVENNESS and found.accuses:
        return Work.EVENNESS
    row = _row(found, facts)
    return row.work if row else None


def may_be_shorter(facts: ReedFacts, sheet: Sheet) -> bool:
    """Return whether one more clip leaves the reed within the sheet: its length, mm, and what was clipped.

    What is not known forbids nothing.
    """
    overall = row_for("overall_length", facts, sheet)
    clipped = row_for("clipped", facts, sheet)
    length, total = _length_now(facts), facts.clipped().value
    if overall and overall.low is not None and length is not None and length - CLIP_MM < overall.low - 1e-9:
        return False
    return not (clipped and clipped.high is not None and total + CLIP_MM > clipped.high + 1e-9)


def _length_now(facts: ReedFacts) -> float | None:
    """The overall length as it is now, mm: measured, else the tie length less the clips."""
    reading, tie = facts.numbers.get("overall_length"), facts.value("tie_length")
    if reading is not None and reading.measured is not None:
        return after_clips(reading, reading.measured, facts)[0].value
    return None if tie is None else tie.value - facts.clipped().value


def _forbidden(found: Sequence[Finding], facts: ReedFacts) -> Callable[[int, Takes], bool]:
    """Return whether one of the others speaks against taking something off for the finding at a place."""
    against = [(place, said) for place, one in enumerate(found) if (said := _speaks_against(one, facts))]
    return lambda place, takes: any(takes in said for other, said in against if other != place)


def _speaks_against(found: Finding, facts: ReedFacts) -> frozenset[Takes]:
    """What a finding, or one told under it, forbids the others."""
    rows = [_row(one, facts) for one in (found, *found.parts)]
    return frozenset().union(*(row.forbids for row in rows if row))


def _allowed(found: Sequence[Finding], facts: ReedFacts, sheet: Sheet) -> tuple[list[Finding], set[int]]:
    """The findings without the steps that nobody may take, and the places of those that lost theirs."""
    forbidden, shorter = _forbidden(found, facts), may_be_shorter(facts, sheet)
    kept, lost = list(found), set()
    for place, one in enumerate(found):
        row = _row(one, facts)
        if row is None or row.takes is None or not (one.irreversible or one.waits):
            continue
        if one.next_step == LEAK_FIRST:
            continue
        if forbidden(place, row.takes):
            kept[place] = one.without_step(SPOKEN_AGAINST)
        elif row.takes is Takes.CLIP and not shorter:
            kept[place] = one.without_step(NOT_SHORTER)
        else:
            continue
        lost.add(place)
    return kept, lost


def one_step(found: Sequence[Finding], facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return the findings so that at most one asks for what cannot be undone, and none for what is forbidden.

    The first in the order of work keeps its step, be it to look once more; the others say what they wait for.
    A reed that leaks has no such step at all (see `next_steps.with_step`).
    """
    kept, lost = _allowed(found, facts, sheet)
    works = {place: work_of(one, facts) for place, one in enumerate(kept) if place not in lost}
    wanted = sorted((work.order, place) for place, work in works.items() if work is not None)
    if not wanted:
        return kept
    first_work, first_place = Work(list(Work)[wanted[0][0]]), wanted[0][1]
    for _order, place in wanted:
        one = kept[place]
        if place != first_place and one.next_step != LEAK_FIRST:
            told = {**one.params, "first_label": first_work.label}
            kept[place] = replace(one.without_step(FIRST), params=told)
    return kept
