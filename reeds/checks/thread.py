"""Where the thread ends: past the end of the staple it chokes the blades, short of it they may leak."""

from __future__ import annotations

from dataclasses import replace

from reeds.checks.comparing import against_sheet
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import Finding, Outcome
from reeds.checks.sheet import Sheet
from reeds.numbers.words import gettext_noop as _

KEY = "thread"
NAME = _("thread against the end of the staple")
SOURCE = _(
    "oboe.net.au, 'Tips': last turn in line with the end of the staple; limits: common practice from memory"
)
ROWS = ("thread_past_staple",)

PAST = _("The thread goes %(length)s mm past the end of the staple.")
SHORT = _("The thread ends %(length)s mm before the end of the staple.")
MESSAGES = {Outcome.ABOVE: PAST, Outcome.BELOW: SHORT}


def _in_words(found: Finding) -> Finding:
    """The signed number told as a length and a direction."""
    if found.outcome not in MESSAGES or found.value is None:
        return found
    length = round(abs(found.value), 1)
    return replace(found, message=MESSAGES[found.outcome], params={**found.params, "length": length})


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return what the sheet says of the thread's end, mm past the staple's end."""
    return [_in_words(found) for found in against_sheet(KEY, "thread_past_staple", facts, sheet)]
