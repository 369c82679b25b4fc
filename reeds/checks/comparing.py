"""One number of a reed compared with its row of the sheet: the work that several checks share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from reeds.checks.conformity import judge
from reeds.checks.facts import Reading, ReedFacts
from reeds.checks.findings import Finding, Outcome
from reeds.checks.mending import mended
from reeds.checks.next_steps import with_step
from reeds.checks.sheet import Limit, Sheet
from reeds.numbers.measured import Measured
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Method
from reeds.numbers.words import gettext_noop as _

WITHIN = _("%(name)s: %(value)s %(unit)s is within the limits.")
BELOW = _("%(name)s: %(value)s %(unit)s is below the low limit of %(low)s.")
ABOVE = _("%(name)s: %(value)s %(unit)s is above the high limit of %(high)s.")
TOO_CLOSE = _("%(name)s: %(value)s %(unit)s is too close to a limit to call.")
UNDECIDABLE = _(
    "%(name)s: this way of measuring (%(method_label)s) is too coarse for the limits %(low)s to %(high)s; "
    "nothing says that it is wrong."
)
MEASURE_AGAIN = _("Measure it again, with care or with a finer tool.")
MEASURE_WITH = _("Measure it again this way: %(tool_label)s.")
AGAIN_WITH = {
    Method.RULER: _("Measure it again with a ruler."),
    Method.CALIPER: _("Measure it again with a caliper."),
    Method.DIAL: _("Measure it again with a dial gauge."),
    Method.PHOTO: _("Measure it again on a photo."),
}
NO_ROW = _("%(name)s: the sheet has no limits for a reed on this staple.")
NOT_YET = _("%(name)s: the sheet's limits hold from this stage on: %(stage_label)s.")
CLIPS_ADDED = _("%(name)s was measured after clipping: the %(clips)s mm clipped are added back.")
CLIPS_TAKEN = _("%(name)s was measured before the last clip: the %(clips)s mm clipped since are taken off.")
AS_WANTED = _("%(name)s: %(choice_label)s, as the sheet has it.")
NOT_AS_WANTED = _("%(name)s: %(choice_label)s; the sheet has: %(wanted_label)s.")

MESSAGES = {
    Outcome.WITHIN: WITHIN,
    Outcome.BELOW: BELOW,
    Outcome.ABOVE: ABOVE,
    Outcome.TOO_CLOSE: TOO_CLOSE,
    Outcome.UNDECIDABLE: UNDECIDABLE,
}


def better_way(
    quantity: Quantity,
    limit: Limit,
    reading: Reading,
    studio: Mapping[Method, float],
    u_clips: float = 0.0,
) -> Method | None:
    """Return a finer way of measuring than the reading's that can decide between the limits, or None.

    The coarsest tool that will do is named first, since it is the likeliest to be in the house; a photo
    where no tool will. `studio` as in `Quantity.default_u`; `u_clips` is the doubt that clips add, mm,
    whatever the tool.
    """
    u_now, tools = reading.measured.u if reading.measured else 0.0, quantity.tools(studio)
    for way in limit.able(studio, u_clips, quantity):
        if way is not reading.method and tools[way] < u_now:
            return way
    photo_helps = Method.PHOTO in quantity.methods and reading.method is not Method.PHOTO
    return Method.PHOTO if photo_helps else None


def after_clips(reading: Reading, measured: Measured, facts: ReedFacts) -> tuple[Measured, Measured, str]:
    """Return the number as it is to be compared, the clips that went into it, and the remark about them.

    A scrape length measured after clipping has those clips added back; an overall length measured
    before a clip has it taken off. All mm. Source: arithmetic.
    """
    if reading.quantity == "scrape_length":
        clips = facts.clipped(until=reading.when)
        return measured + clips, clips, CLIPS_ADDED
    if reading.quantity == "overall_length" and reading.when is not None:
        clips = facts.clipped(after=reading.when)
        return measured - clips, clips, CLIPS_TAKEN
    return measured, Measured(0.0), ""


def base_params(quantity: Quantity, **more: object) -> dict[str, object]:
    """What every sentence about a quantity can be filled with."""
    return {"name": quantity.name, "unit": quantity.unit, **more}


def remark(check: str, quantity: Quantity, message: str, source: str, **params: object) -> Finding:
    """Return a remark about a quantity: nothing to be done about it."""
    return Finding(
        check=check,
        outcome=Outcome.NOTED,
        quantity=quantity.key,
        message=message,
        params=base_params(quantity, **params),
        source=source,
    )


def _too_early(reading: Reading, quantity: Quantity, limit: Limit) -> bool:
    """Whether limits for the usual stage would be held against an earlier one; a row may name its own."""
    if limit.stage is not None:
        return False
    return reading.stage is not None and reading.stage.order < quantity.stage.order


def _again(
    outcome: Outcome,
    quantity: Quantity,
    reading: Reading,
    limit: Limit,
    studio: Mapping[Method, float],
    u_clips: float,
) -> tuple[str, dict[str, object]]:
    """The reversible step where nothing could be decided: which tool to measure with."""
    undecided = outcome in (Outcome.TOO_CLOSE, Outcome.UNDECIDABLE)
    # what the app keeps itself, such as clips, cannot be measured again
    if not undecided or not quantity.methods:
        return "", {}
    way = better_way(quantity, limit, reading, studio, u_clips)
    if way is not None:
        return AGAIN_WITH.get(way, MEASURE_WITH), {"tool_label": way.label}
    return (MEASURE_AGAIN if outcome is Outcome.TOO_CLOSE else ""), {}


def compared(
    check: str, quantity: Quantity, reading: Reading, number: Measured, limit: Limit, facts: ReedFacts
) -> list[Finding]:
    """Return what comes of comparing a number, put right for clips, with its row, next step included."""
    measured, clips, about_clips = after_clips(reading, number, facts)
    found = _one(check, quantity, reading, limit, measured, (facts.doubts, clips.u))
    found = with_step(found, facts, f"{quantity.key}:{found.outcome.value}")
    if found.is_fault and not found.next_step:
        found = replace(found, next_step=mended(quantity, found.outcome, facts.stage))
    if not clips.value or found.outcome is Outcome.UNDECIDABLE:
        return [found]
    return [found, remark(check, quantity, about_clips, _("arithmetic"), clips=round(clips.value, 2))]


def _one(
    check: str,
    quantity: Quantity,
    reading: Reading,
    limit: Limit,
    measured: Measured,
    tools: tuple[Mapping[Method, float], float],
) -> Finding:
    """`tools` are the studio's own doubts and what clips add whatever the tool, mm."""
    outcome, probability = judge(measured, limit.low, limit.high)
    step, tool = _again(outcome, quantity, reading, limit, *tools)
    params = base_params(
        quantity,
        value=round(measured.value, quantity.decimals),
        low=limit.low,
        high=limit.high,
        method_label=reading.method.label,
        **tool,
    )
    return Finding(
        check=check,
        outcome=outcome,
        quantity=quantity.key,
        value=measured.value,
        u=measured.u,
        low=limit.low,
        aim=limit.aim,
        high=limit.high,
        probability=probability,
        message=MESSAGES[outcome],
        params=params,
        next_step=step,
        source=limit.source,
    )


def row_for(key: str, facts: ReedFacts, sheet: Sheet) -> Limit | None:
    """Return the sheet's row for a quantity of this reed, at the stage at which it was measured."""
    reading = facts.numbers.get(key)
    stage = reading.stage if reading and reading.stage else facts.stage
    return sheet.limit_for(key, facts.staple_length, facts.flexibility, stage)


def against_sheet(check: str, key: str, facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return what the sheet says of the newest number of `key`: nothing if it has no number or no row."""
    reading, quantity = facts.numbers.get(key), sheet.known[key]
    if reading is None or reading.measured is None or key not in sheet.keys:
        return []
    limit = row_for(key, facts, sheet)
    if limit is None:
        return [remark(check, quantity, NO_ROW, "")]
    if _too_early(reading, quantity, limit):
        return [remark(check, quantity, NOT_YET, "", stage_label=quantity.stage.label)]
    return compared(check, quantity, reading, reading.measured, limit, facts)


def seen_beside_sheet(check: str, key: str, facts: ReedFacts, sheet: Sheet) -> Finding | None:
    """Return whether what was seen is what the sheet wants, without a next step; None if nothing to say."""
    limit = row_for(key, facts, sheet)
    choice, quantity = facts.choice(key), sheet.known[key]
    if limit is None or not limit.choice or choice not in dict(quantity.choices):
        return None
    wanted = choice == limit.choice
    labels = {"choice_label": quantity.label_of(choice), "wanted_label": quantity.label_of(limit.choice)}
    return Finding(
        check=check,
        outcome=Outcome.WITHIN if wanted else Outcome.DIFFERS,
        quantity=key,
        choice=choice,
        message=AS_WANTED if wanted else NOT_AS_WANTED,
        params=base_params(quantity, **labels),
        source=limit.source,
    )
