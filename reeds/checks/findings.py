"""A finding: the outcome of one check, with its numbers, its sentence and what to do next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, fields, replace
from typing import Any

from reeds.numbers.words import Labelled
from reeds.numbers.words import gettext_noop as _

CP = _("common practice, no source")
CPM = _("common practice from memory, no source")


class Outcome(Labelled):
    """What a check came to."""

    WITHIN = "within", _("within")
    BELOW = "below", _("below")
    ABOVE = "above", _("above")
    DIFFERS = "differs", _("not as it should be")  # of a thing seen: airtight, closing, the fold
    TOO_CLOSE = "too_close", _("too close to call")
    CONTRADICTION = "contradiction", _("contradiction")
    MISSING = "missing", _("missing")
    UNDECIDABLE = "undecidable", _("this way of measuring is too coarse here")
    NOTED = "noted", _("remark")


FAULTS = frozenset({Outcome.BELOW, Outcome.ABOVE, Outcome.DIFFERS})
ASKS_AGAIN = frozenset({Outcome.CONTRADICTION, Outcome.TOO_CLOSE, Outcome.MISSING})

# how much a finding moves a reed up the teacher's queue; own choice, no source
NEED = {
    Outcome.DIFFERS: 5,
    Outcome.BELOW: 4,
    Outcome.ABOVE: 4,
    Outcome.CONTRADICTION: 3,
    Outcome.TOO_CLOSE: 1,
    Outcome.MISSING: 1,
}
# with this a sentence ended once, in findings that were stored so; by now it stands folded under it
_FOLDED_NOW = ": it is within with a probability of %(percent)s %%."


@dataclass(frozen=True, kw_only=True)
class Finding:
    """The outcome of one check on one reed.

    Attributes
    ----------
    check : str
        The key of the check that found it.
    quantity, also : str, tuple of str
        The quantity it is about ('' for none), and the others that take part.
    value, u, low, aim, high : float or None
        Numbers in the quantity's unit, as they were compared.
    choice : str
        What was seen, where the quantity is a choice.
    probability : float or None
        Of the outcome if decided; of lying within the limits if not.
    message, params
        The reason in one marked sentence and what fills it (see `reeds.numbers.words.said`).
    next_step, caution : str
        Marked sentences, '' for none. `waits` tells that the step cannot be undone and this student is
        to wait for the teacher; `irreversible` that the step shown cannot be undone.
    how, then : str
        Of a step that takes something off: marked sentences on how much and where, and on what to play, to
        look at and to photograph after it.
    step_key : str
        Which row of the usual next steps it leads to, '' for none: so that one reed gets one step.
    parts : tuple of Finding
        What else was found and comes of the same cause: told under it, without need and step of its own.
    source : str
        What the check and its limits rest on.
    """

    check: str
    outcome: Outcome
    quantity: str = ""
    also: tuple[str, ...] = ()
    value: float | None = None
    u: float | None = None
    low: float | None = None
    aim: float | None = None
    high: float | None = None
    choice: str = ""
    probability: float | None = None
    message: str = ""
    params: dict[str, object] = field(default_factory=dict)
    next_step: str = ""
    caution: str = ""
    irreversible: bool = False
    waits: bool = False
    how: str = ""
    then: str = ""
    step_key: str = ""
    parts: tuple[Finding, ...] = ()
    source: str = ""

    @property
    def is_fault(self) -> bool:
        """Whether the reed itself is not as the sheet has it, as far as the numbers can tell."""
        return self.outcome in FAULTS

    @property
    def needs_attention(self) -> bool:
        """Whether somebody should act on it: a fault, or a number to measure again or to add."""
        return self.is_fault or self.outcome in ASKS_AGAIN

    @property
    def accuses(self) -> bool:
        """Whether it says that something is wrong, and not only that nobody knows yet."""
        return self.is_fault or self.outcome is Outcome.CONTRADICTION

    @property
    def need(self) -> int:
        """Weight in the order of need, 0 to 5."""
        return NEED.get(self.outcome, 0)

    def without_step(self, sentence: str = "") -> Finding:
        """Return the finding with nothing to do, or with a marked sentence that asks for nothing lasting."""
        asks = self.next_step or self.caution or self.how or self.then
        if not (sentence or asks or self.irreversible or self.waits):
            return self
        return replace(self, next_step=sentence, caution="", how="", then="", irreversible=False, waits=False)

    def as_json(self) -> dict[str, Any]:
        """Return plain data that `from_json` gives back unchanged."""
        own = {f.name: getattr(self, f.name) for f in fields(self)}
        parts = [part.as_json() for part in self.parts]
        return {**own, "outcome": self.outcome.value, "also": list(self.also), "parts": parts}

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> Finding:
        """Return the finding stored by `as_json`, by whatever version: keys that are not known are left out.

        Raises KeyError or ValueError if the check or a known outcome is missing.
        """
        known = {f.name for f in fields(cls)}
        kept = {key: value for key, value in data.items() if key in known}
        kept["message"] = kept.get("message", "").replace(_FOLDED_NOW, ".")
        outcome = Outcome(kept.pop("outcome"))
        also = tuple(kept.pop("also", ()))
        parts = tuple(cls.from_json(part) for part in kept.pop("parts", ()))
        return cls(check=kept.pop("check"), outcome=outcome, also=also, parts=parts, **kept)


def folded(head: Finding, parts: Iterable[Finding]) -> Finding:
    """Return the finding with others told under it; what lay under those comes along."""
    flat = [one for part in parts for one in (replace(part, parts=()), *part.parts)]
    return replace(head, parts=(*head.parts, *(one.without_step() for one in flat)))


def spread(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings and what is told under each, as one list."""
    return [one for found in findings for one in (found, *found.parts)]


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings with the greatest need first; equals stay as they came."""
    return sorted(findings, key=lambda finding: -finding.need)


def need_of(findings: Iterable[Finding]) -> int:
    """Return the weight of a reed in the order of need: the sum over its findings, 0 for none."""
    return sum(finding.need for finding in findings)
