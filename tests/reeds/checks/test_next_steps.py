"""The table of usual next steps."""

import re

from reeds.checks.next_steps import NEXT_STEPS, step_for
from reeds.numbers.words import Style

UNDOABLE = re.compile(r"\b(scrape|clip|take a little|take a little more)\b", re.IGNORECASE)
SAFE = re.compile(r"do not (scrape|clip)|before a side is scraped|^scrape shorter", re.IGNORECASE)


def test_each_finding_has_one_step_a_style():
    keys = [(step.style, step.finding) for step in NEXT_STEPS]
    assert len(keys) == len(set(keys))


def test_every_step_names_what_it_rests_on():
    assert all(step.source for step in NEXT_STEPS)


def test_whatever_scrapes_or_clips_is_marked_as_not_to_be_undone():
    for step in NEXT_STEPS:
        if UNDOABLE.search(step.text) and not SAFE.search(step.text):
            assert step.irreversible, step.text


def test_every_step_that_cannot_be_undone_carries_a_caution():
    assert all(step.caution for step in NEXT_STEPS if step.irreversible)


def test_no_step_of_one_style_is_shown_on_another():
    for step in NEXT_STEPS:
        if step.style is None:
            assert not step.irreversible, "what cannot be undone belongs to one style"
            continue
        for other in set(Style) - {step.style}:
            assert step_for(other, step.finding) is not step


def test_another_scrape_is_shown_no_step_that_cannot_be_undone():
    steps = [step_for(Style.OTHER, step.finding) for step in NEXT_STEPS]
    assert not any(step.irreversible for step in steps if step)
