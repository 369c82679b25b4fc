"""The usual next steps of what was found of a round, as if nothing had to wait for the teacher."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from lessons.sending.models import Submission
from lessons.sending.pages import Later
from reeds.checks.findings import Finding, in_order
from reeds.checks.next_steps import NEXT_STEPS, allowed
from reeds.checks.one_step import NO_STEPS
from reeds.checks.registry import run_checks
from reeds.numbers.words import Style
from reeds.reed.facts import sheet_of
from reeds.wording import filled

AT_ONCE = 3


@dataclass(frozen=True)
class UsualStep:
    """A usual next step with its caution, in the reader's language."""

    words: str
    caution: str


class Steps:
    """Those of what was found, and the others of this way of scraping."""

    def __init__(self, submission: Submission, later: Later) -> None:
        self.submission = submission
        self.later = later

    @cached_property
    def of_what_was_found(self) -> list[UsualStep]:
        """Those of the findings as they stand: the stored ones, unless something is new since."""
        told = [one for one in self._found if one.next_step and one.next_step not in NO_STEPS]
        return _unique(UsualStep(_whole(one), filled(one.caution, one.params)) for one in told)

    @property
    def at_once(self) -> list[UsualStep]:
        return self.of_what_was_found[:AT_ONCE]

    @property
    def folded(self) -> list[UsualStep]:
        """What is folded under those."""
        return [*self.of_what_was_found[AT_ONCE:], *self.others]

    @cached_property
    def others(self) -> list[UsualStep]:
        """The other usual next steps of this way of scraping."""
        rows = [row for row in NEXT_STEPS if row.style in (None, self._style)]
        steps = _unique(UsualStep(filled(row.text, {}), filled(row.caution, {})) for row in rows)
        return [step for step in steps if step not in self.of_what_was_found]

    @property
    def _style(self) -> Style:
        return Style(self.submission.reed.version.pattern.style)

    @property
    def _found(self) -> list[Finding]:
        is_new = vars(self.submission).get("has_changed", True)
        if is_new or self.later.came or self.later.findings:
            return self._found_now
        stored = [allowed(one, self._style) for one in self.submission.found]
        known = [one for one in stored if one is not None]
        return in_order(known) if len(known) == len(stored) else self._found_now

    @property
    def _found_now(self) -> list[Finding]:
        facts = replace(self.later.now, may_act=True)
        return in_order(run_checks(facts, sheet_of(self.submission.reed, self.later.rows)))


def _whole(found: Finding) -> str:
    """A step with how much and where, and what to play and to look at after it."""
    return " ".join(
        filter(None, (filled(words, found.params) for words in (found.next_step, found.how, found.then)))
    )


def _unique(steps: Iterable[UsualStep]) -> list[UsualStep]:
    return list(dict.fromkeys(steps))
