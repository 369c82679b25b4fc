"""All that the sentences of the demo's finished term may claim of each hand, by what `truth` declares."""

from __future__ import annotations

from lessons.demo.truth import STAYS, STEADIES, STOPS_LEAKING, TIES_LONG
from lessons.term.lookback.sentence import Manner, Topic

EVEN = Topic.EVENNESS, Manner.CHANGE
LONG = Topic.OFFSET, Manner.STATE
ENDED = Topic.FINDING, Manner.CHANGE
CLAIMS = {
    STEADIES.username: {EVEN},
    STAYS.username: set(),
    TIES_LONG.username: {LONG},
    STOPS_LEAKING.username: {ENDED},
}


def claimed(said):
    """Return the sentences that claim something beyond what was counted."""
    return [one for one in said.sentences if one.chance is not None]
