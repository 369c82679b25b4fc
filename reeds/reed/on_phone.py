"""What a phone needs to check a typed number by itself: the reed's limits, the tools' doubts, the words.

The sheet, the doubts, the sentences and the two figures of the rule all come from here; `static/js/limits.js`
holds the rule itself once more, and `tests/browser/test_limits_on_phone.py` has both say the same of the same
cases. It is the plain rule of `reeds.checks.limits` alone: what several numbers say together, what is usual
next and what was heard is the server's to tell.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from reeds.checks.comparing import MESSAGES, NO_ROW, NOT_YET, after_clips
from reeds.checks.conformity import ENOUGH, K95
from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import Finding
from reeds.checks.limits import KEY
from reeds.checks.sheet import Limit, Sheet
from reeds.numbers import entry
from reeds.numbers.measured import Measured
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Flexibility
from reeds.reed.facts import facts_of, sheet_of
from reeds.reed.models.reed import Reed
from reeds.templatetags.findings import in_brief, tone
from reeds.wording import filled, unit_of

QUESTIONS = (
    "EMPTY",
    "NOT_A_NUMBER",
    "SEVERAL",
    "THOUSANDS",
    "OTHER_UNIT",
    "OTHER_UNIT_NEAR",
    "NOT_POSITIVE",
    "NEGATIVE",
    "DID_YOU_MEAN",
    "OUT_OF_BOUNDS",
    "OUT_OF_BOUNDS_MM",
)


def limits_on_phone(reed: Reed, quantities: Iterable[Quantity]) -> dict[str, Any]:
    """Return, as plain data, all that `limits.js` asks to check numbers of these quantities."""
    facts, sheet = facts_of(reed, reed.owner), sheet_of(reed)
    return {
        "enough": ENOUGH,
        "k95": K95,
        "sentences": {outcome.value: _(message) for outcome, message in MESSAGES.items()},
        "tones": {outcome.value: tone(Finding(check=KEY, outcome=outcome)) for outcome in MESSAGES},
        "questions": {name.lower(): _(getattr(entry, name)) for name in QUESTIONS},
        "quantities": {one.key: _row(one, facts, sheet) for one in quantities if one.is_number},
    }


def _row(quantity: Quantity, facts: ReedFacts, sheet: Sheet) -> dict[str, Any]:
    limit = _limit(quantity, facts, sheet)
    way = quantity.hand_method
    typed = Reading(quantity=quantity.key, measured=Measured(0.0), method=way, when=timezone.now())
    _shifted, clips, _about = after_clips(typed, Measured(0.0), facts)
    held = limit is not None and not _too_early(quantity, limit, facts)
    return {
        "name": _(quantity.name),
        "unit": unit_of(quantity),
        "spellings": [quantity.unit, *quantity.spellings],
        "low": quantity.low,
        "high": quantity.high,
        "example": float(f"{(quantity.low + quantity.high) / 2:.3g}"),
        "decimals": quantity.decimals,
        "usual": way.value,
        "tools": {tool.value: [u, _(tool.label)] for tool, u in quantity.tools(facts.doubts).items()},
        "clips": [clips.value, clips.u],
        "limit": [limit.low, limit.high] if limit is not None and held else None,
        "briefs": _briefs(quantity, limit) if limit is not None and held else {},
        "remark": "" if held else _remark(quantity, limit, sheet),
    }


def _briefs(quantity: Quantity, limit: Limit) -> dict[str, str]:
    """What stands under the number, for each outcome."""
    params: dict[str, object] = {"unit": quantity.unit}
    found = (
        Finding(check=KEY, outcome=one, low=limit.low, high=limit.high, params=params) for one in MESSAGES
    )
    return {one.outcome.value: in_brief(one) for one in found}


def _limit(quantity: Quantity, facts: ReedFacts, sheet: Sheet) -> Limit | None:
    feel = Flexibility(facts.flexibility)
    return sheet.limit_for(quantity.key, facts.staple_length, feel, facts.stage)


def _too_early(quantity: Quantity, limit: Limit, facts: ReedFacts) -> bool:
    """As in `reeds.checks.comparing`: limits for the usual stage are not held against an earlier one."""
    return limit.stage is None and facts.stage.order < quantity.stage.order


def _remark(quantity: Quantity, limit: Limit | None, sheet: Sheet) -> str:
    if quantity.key not in sheet.keys:
        return ""
    params = {"name": quantity.name, "stage_label": quantity.stage.label}
    return filled(NO_ROW if limit is None else NOT_YET, params)
