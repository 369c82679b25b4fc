"""Whether both sides of the opening are alike: the photo at rest, and closing under light finger pressure."""

from __future__ import annotations

from dataclasses import replace

from reeds.checks.comparing import against_sheet, seen_beside_sheet
from reeds.checks.conformity import ENOUGH, chances
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import CP, Finding, Outcome
from reeds.checks.next_steps import with_step
from reeds.checks.sheet import Sheet
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Stage
from reeds.numbers.words import gettext_noop as _

KEY = "evenness"
NAME = _("both sides of the opening alike")
SOURCE = CP
ROWS = ("unevenness",)

DISAGREE = _(
    "Under the finger the %(open_label)s side stays open, but the photo shows the other side more open."
)
LEFT_MORE = _(
    "On the photo the left half is more open than the right: %(value)s, where %(high)s is still even."
)
RIGHT_MORE = _(
    "On the photo the right half is more open than the left: %(value)s, where %(low)s is still even."
)
MESSAGES = {Outcome.ABOVE: LEFT_MORE, Outcome.BELOW: RIGHT_MORE}
SIDES = {"left": _("left"), "right": _("right")}

# the side that closes later has had less taken
STAYS_OPEN = {"left_first": "right", "right_first": "left"}


def more_open_on_photo(facts: ReedFacts, found: Finding | None) -> str:
    """Return 'left' or 'right' where the photo shows at 95 % which half is larger, else ''.

    `found` is the finding about the unevenness: where that lies within the limits, no side is named.
    """
    measured = facts.value("unevenness")
    if measured is None or found is None or found.outcome is Outcome.WITHIN:
        return ""
    sides = chances(measured, 0.0, 0.0)
    if sides.above >= ENOUGH:
        return "left"
    return "right" if sides.below >= ENOUGH else ""


def _same_moment(facts: ReedFacts) -> bool:
    """Whether photo and finger are of the same stage: an older one shows another reed."""
    stages: set[Stage | None] = {facts.numbers[key].stage for key in ("unevenness", "closing")}
    return None in stages or len(stages) == 1


def _older_photo(facts: ReedFacts) -> bool:
    """Whether the finger felt at a later stage what the photo shows of an earlier one."""
    photo, finger = (facts.numbers.get(key) for key in ("unevenness", "closing"))
    stages = [one.stage for one in (photo, finger) if one and one.stage]
    return len(stages) == 2 and stages[0].order < stages[1].order


def _closing_step(closing: Finding, facts: ReedFacts, on_photo: str) -> Finding:
    """The step for sides that close one after the other: a side is named only if the photo agrees."""
    stays_open = STAYS_OPEN.get(closing.choice)
    if stays_open is None:
        return with_step(closing, facts, f"closing:{closing.choice}")
    if not on_photo:
        photo_exists = facts.value("unevenness") is not None and _same_moment(facts)
        return with_step(closing, facts, "closing:unclear" if photo_exists else "closing:alone")
    if on_photo == stays_open:
        return with_step(closing, facts, f"side:{stays_open}")
    contradicted = replace(
        closing,
        outcome=Outcome.CONTRADICTION,
        also=("unevenness",),
        message=DISAGREE,
        params={**closing.params, "open_label": SIDES[stays_open]},
    )
    return with_step(contradicted, facts, "closing:disagrees")


def _in_words(found: Finding) -> Finding:
    """The signed number told as a side."""
    if found.outcome not in MESSAGES:
        return found
    return replace(found, message=MESSAGES[found.outcome])


def _photo_step(found: Finding, facts: ReedFacts) -> Finding:
    """An uneven photo alone names no side to scrape."""
    uneven = found.outcome in (Outcome.ABOVE, Outcome.BELOW)
    alone = uneven and facts.choice("closing") not in STAYS_OPEN
    return with_step(found, facts, "unevenness:alone") if alone else found


def _from_scraping_on(facts: ReedFacts) -> bool:
    reading = facts.numbers.get("closing")
    stage = reading.stage if reading and reading.stage else facts.stage
    return stage.order >= QUANTITIES["closing"].stage.order


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return what photo and finger say of the two sides, and the side to scrape where they agree."""
    photo = [_photo_step(_in_words(one), facts) for one in against_sheet(KEY, "unevenness", facts, sheet)]
    closing = seen_beside_sheet(KEY, "closing", facts, sheet) if _from_scraping_on(facts) else None
    if closing is None:
        return photo
    on_photo = ""
    if photo and _same_moment(facts):
        on_photo = more_open_on_photo(facts, photo[0])
    if closing.outcome is Outcome.WITHIN and _older_photo(facts):
        photo = [replace(one.without_step(), outcome=Outcome.NOTED, step_key="") for one in photo]
    if closing.outcome is Outcome.DIFFERS:
        closing = _closing_step(closing, facts, on_photo)
    return [*photo, closing]
