"""What was noted at the bench, where the trade gives a reason to speak of it; all else is only shown."""

from __future__ import annotations

from dataclasses import dataclass, replace

from reeds.checks.comparing import base_params, seen_beside_sheet
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import CP, CPM, Finding, Outcome
from reeds.checks.next_steps import with_step
from reeds.checks.sheet import Sheet
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Style
from reeds.numbers.words import gettext_noop as _

KEY = "bench"
NAME = _("noted at the bench")
SOURCE = CP

_LEAKS = _("a web article, '9 reasons why your oboe reeds are leaking'; the step: common practice")
_SEALING = _("J. Ryon, 'A Brief Reed Making Guide': sealing comes first; the step: from memory")
_TENSION = _("oboe.net.au, 'Tips': the sides meet without undue tension; the step: common practice")


@dataclass(frozen=True)
class Reason:
    """Why a choice is spoken of: in which scrape (None for all), as what, in which words, on what ground."""

    style: Style | None
    quantity: str
    choice: str
    outcome: Outcome
    message: str
    source: str = CP


REASONS: tuple[Reason, ...] = (
    Reason(
        None,
        "fold_cut",
        "deep",
        Outcome.DIFFERS,
        _("The fold was cut deep: the opening can stay too wide."),
    ),
    Reason(
        Style.SHORT,
        "edges",
        "square",
        Outcome.NOTED,
        _("Neither blade's edges are rounded: in the short scrape one fits inside the other."),
    ),
    Reason(
        Style.SHORT,
        "blades_lie",
        "slip",
        Outcome.NOTED,
        _("One blade stands over the other: in the short scrape they lie flush."),
        CPM,
    ),
    Reason(
        None,
        "blades_lie",
        "gap",
        Outcome.DIFFERS,
        _("The edges of the blades do not meet: there it leaks."),
        _SEALING,
    ),
    Reason(
        None,
        "tied_straight",
        "turned",
        Outcome.DIFFERS,
        _("It is not straight on the staple: tied off-centre, a reed leaks easily."),
        _LEAKS,
    ),
    Reason(
        None,
        "thread_force",
        "forced",
        Outcome.DIFFERS,
        _("The last turns were wound with force: blades that are forced can stay too wide open."),
        _TENSION,
    ),
    Reason(
        Style.SHORT,
        "wire_twist",
        "side",
        Outcome.NOTED,
        _("The twist of the wire lies at the side: it belongs on the flat side, where it harms nobody."),
    ),
    *(
        Reason(
            None,
            "waxed_knotted",
            choice,
            Outcome.NOTED,
            _("The thread is not knotted yet: it can come loose."),
        )
        for choice in ("waxed", "neither")
    ),
    Reason(
        Style.SHORT,
        "bark_line",
        "aslant",
        Outcome.NOTED,
        _("The bark begins lower on one side: more may have been taken there."),
    ),
    Reason(
        Style.SHORT,
        "grain_lines",
        "further",
        Outcome.DIFFERS,
        _("It was scraped further than the grain lines: what is gone does not come back."),
    ),
    Reason(
        Style.SHORT,
        "sounds",
        "after",
        Outcome.NOTED,
        _("Corners or tip were touched before it sounded."),
    ),
    Reason(Style.SHORT, "sounds", "not_yet", Outcome.NOTED, _("It does not sound yet.")),
    Reason(
        None,
        "corners",
        "uneven",
        Outcome.DIFFERS,
        _("One corner of the tip is thicker than the other."),
        CPM,
    ),
    Reason(
        Style.SHORT,
        "tip_middle",
        "early",
        Outcome.NOTED,
        _("The middle of the tip was thinned before its time: it is left for last."),
    ),
)

_BY_PLACE = {(one.style, one.quantity, one.choice): one for one in REASONS}


def reason_for(style: Style, quantity: str, choice: str) -> Reason | None:
    """Return why a choice is spoken of in a scrape, or None: reasons never cross from style to style."""
    return _BY_PLACE.get((style, quantity, choice)) or _BY_PLACE.get((None, quantity, choice))


def _told(reason: Reason, quantity: Quantity) -> Finding:
    return Finding(
        check=KEY,
        outcome=reason.outcome,
        quantity=reason.quantity,
        choice=reason.choice,
        message=reason.message,
        params=base_params(quantity, choice_label=quantity.label_of(reason.choice)),
        source=reason.source,
    )


def _one(key: str, facts: ReedFacts, sheet: Sheet) -> Finding | None:
    """What is said of one item: the sheet judges where it has a word, the trade gives reason and step."""
    beside = seen_beside_sheet(KEY, key, facts, sheet)
    if beside is not None and beside.outcome is Outcome.WITHIN:
        return beside
    reason = reason_for(facts.style, key, facts.choice(key))
    if reason is None:
        return beside
    said = with_step(_told(reason, sheet.known[key]), facts, f"{key}:{reason.choice}")
    return replace(said, outcome=beside.outcome) if beside else said


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return one finding for each thing noted that the trade or the sheet has something to say of."""
    found = []
    for key, quantity in sheet.known.items():
        if not quantity.at_bench or not facts.choice(key):
            continue
        one = _one(key, facts, sheet)
        if one is not None:
            found.append(one)
    return found
