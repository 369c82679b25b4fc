"""The playing test: what the player rates low, and the usual next step for it."""

from __future__ import annotations

from reeds.checks.conformity import judge
from reeds.checks.facts import ReedFacts
from reeds.checks.findings import CP, Finding, Outcome
from reeds.checks.next_steps import LEAK_FIRST, with_step
from reeds.checks.sheet import Sheet
from reeds.numbers.words import EFFORT, PLAYING_TEST, Effort, Speaks
from reeds.numbers.words import gettext_noop as _

KEY = "heard"
NAME = _("playing test")
SOURCE = CP

# an item that speaks so is told; a staccato that speaks late is a slow one
LOW = (Speaks.NOT, Speaks.SELDOM)
SLOW_TOO = ("staccato",)
# so many items tried and none speaks: the reed, not the note
MOST_OF_A_TEST = 2
# the usual step of a reed on which nothing speaks and that nobody has tried for a leak
NOTHING = "nothing:speaks"

ASK_REFERENCE = _("Does your reference reed speak them? Record it in the same sitting before you scrape.")
REFERENCE_TOO = _(
    "Your reference reed did not speak them either: a pad of the oboe may leak. Do not scrape for it."
)
RATED_LOW = _("%(item_name)s: %(rating_label)s.")
NOTHING_SPEAKS = _("Nothing speaks, and nobody has noted whether it is airtight.")
EASY_TO_BLOW = _("It is easy to blow.")
VERY_EASY = _("It is very easy to blow.")
HARD_TO_BLOW = _("It is hard to blow.")
FLAT_AND_EASY = _("It plays flat and blows easily.")
SHARP_AND_HARD = _("It plays sharp and blows hard.")


def step_key(item: str, facts: ReedFacts) -> str:
    """Return the key of the next step for an item that fails; for low notes evenness is looked at first."""
    if item == "low_notes" and facts.choice("closing") != "together":
        return "low_notes:unseen"
    return f"{item}:low"


def _rated_low(item: str, rating: int, facts: ReedFacts) -> Finding:
    found = Finding(
        check=KEY,
        outcome=Outcome.BELOW,
        value=float(rating),
        low=float(Speaks.LATE),
        choice=item,
        message=RATED_LOW,
        params={"item_name": PLAYING_TEST[item], "rating_label": Speaks(rating).label},
        source=SOURCE,
    )
    told = with_step(found, facts, step_key(item, facts))
    scrapes = told.irreversible or (told.waits and told.next_step != LEAK_FIRST)
    return reference_first(told, facts) if item == "low_notes" and scrapes else told


def reference_first(found: Finding, facts: ReedFacts) -> Finding:
    """Return a finding of silent low notes so that nobody scrapes for what a leaking pad may do.

    Its step stands only where the reference reed spoke them in the same sitting.
    """
    reference = facts.reference_takes.get("low_notes")
    if (
        reference is None
        or reference.too_noisy
        or reference.doubtful
        or reference.spoke is None
        or not reference.asked
    ):
        step = ASK_REFERENCE
    elif reference.spoke < reference.asked:
        step = REFERENCE_TOO
    else:
        return found
    return found.without_step(step)


def _nothing_speaks(facts: ReedFacts) -> list[Finding]:
    """A reed on which nothing speaks leaks more often than it is badly scraped: that is looked at first."""
    tried = [facts.answers[item] for item in PLAYING_TEST if facts.answers.get(item) in list(Speaks)]
    silent = len(tried) >= MOST_OF_A_TEST and all(rating in LOW for rating in tried)
    if not silent or facts.choice("airtight"):
        return []
    found = Finding(check=KEY, outcome=Outcome.BELOW, message=NOTHING_SPEAKS, source=SOURCE)
    return [with_step(found, facts, NOTHING)]


def _is_low(item: str, rating: int | None) -> bool:
    return rating in LOW or (rating == Speaks.LATE and item in SLOW_TOO)


def _effort(facts: ReedFacts) -> list[Finding]:
    """How hard it is to blow: hard wants scraping, very easy wants none, easy is a remark."""
    effort = facts.answers.get(EFFORT)
    if effort in (Effort.HARD, Effort.VERY_HARD):
        return _hard_to_blow(facts, effort)
    if effort not in (Effort.VERY_EASY, Effort.EASY):
        return []
    easy = effort == Effort.EASY
    found = Finding(
        check=KEY,
        outcome=Outcome.NOTED if easy else Outcome.BELOW,
        value=float(effort),
        low=float(Effort.RIGHT),
        choice=EFFORT,
        message=EASY_TO_BLOW if easy else VERY_EASY,
        source=SOURCE,
    )
    return [found if easy else with_step(found, facts, "effort:easy")]


def _hard_to_blow(facts: ReedFacts, effort: int) -> list[Finding]:
    found = Finding(
        check=KEY,
        outcome=Outcome.ABOVE,
        value=float(effort),
        high=float(Effort.RIGHT),
        choice=EFFORT,
        message=HARD_TO_BLOW,
        source=SOURCE,
    )
    return [with_step(found, facts, "effort:hard")]


def _pitch_and_effort(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Pitch alone belongs to player, oboe and reed; with the effort it points at the reed."""
    measured, effort = facts.value("a4_cents"), facts.answers.get(EFFORT)
    limit = sheet.limit_for("a4_cents", facts.staple_length, facts.flexibility, facts.stage)
    if measured is None or effort is None or limit is None:
        return []
    outcome, _probability = judge(measured, limit.low, limit.high)
    if outcome is Outcome.BELOW and effort <= Effort.EASY:
        key, message = "flat_and_easy", FLAT_AND_EASY
    elif outcome is Outcome.ABOVE and effort >= Effort.HARD:
        key, message = "sharp_and_hard", SHARP_AND_HARD
    else:
        return []
    found = Finding(check=KEY, outcome=outcome, quantity="a4_cents", message=message, source=SOURCE)
    return [with_step(found, facts, key)]


def check(facts: ReedFacts, sheet: Sheet) -> list[Finding]:
    """Return a finding for each item that speaks badly, and for how it blows, with its pitch.

    Items that are not in the test and ratings that are not in the scale are left out.
    """
    low = [
        _rated_low(item, facts.answers[item], facts)
        for item in PLAYING_TEST
        if _is_low(item, facts.answers.get(item))
    ]
    return [*_nothing_speaks(facts), *low, *(_pitch_and_effort(facts, sheet) or _effort(facts))]
