"""Whole reeds as data: what is noted of each, and what a teacher would and would not say of it.

Every reed is a textbook reed of its scrape at its stage, but for what its row changes. The rows are common
practice of the trade without a source (CP), common practice from memory (CPM), or name their source.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta

from reeds.checks.facts import Reading, ReedFacts, Told
from reeds.numbers.measured import Measured
from reeds.numbers.registry import QUANTITIES
from reeds.numbers.words import Flexibility, Method, Moisture, Stage, Style
from tests.reeds.checks.make import at, clip

CP = "common practice, no source"
CPM = "common practice from memory, no source"
ZONES = "oboeinsight.com, 'Reed definitions': 47 + 3 + 11 + 5 + 4 = 70; the rest common practice from memory"
FIXES = "oboeinsight.com, 'Adjustments & fixes': tip, sides of the heart, back, one zone at a time"
TIPS = "oboe.net.au, 'Tips': the last turn in line with the end of the staple; the step common practice"
GOUGE = "a German reed-making guide: 0.55 to 0.60 at the middle; the step common practice"
GUM = "JCGM 100:2008, 5.1.2: joint uncertainty; what follows is common practice"
GEOMETRY = "arithmetic on the lengths; what follows is common practice"

# per scrape and stage what is noted first there; what a stage notes anew replaces the older
SHORT = {
    Stage.CANE: {"tube_diameter": 10.5, "gouge": 0.57},
    Stage.SHAPED: {"end_thinned": 9.0, "tip_width": 7.0},
    Stage.TIED: {"staple_length": 45.0, "cane_beyond_staple": 27.0, "tie_length": 72.0, "airtight": "yes"},
    Stage.BOUND: {"thread_past_staple": 0.0, "airtight": "yes"},
    Stage.SCRAPED: {"scrape_length": 11.0, "closing": "together", "unevenness": 0.0},
    Stage.FINISHING: {"overall_length": 71.0, "tip_length": 2.5, "closing": "together", "unevenness": 0.0},
    Stage.PLAYING: {
        "overall_length": 71.0, "closing": "together", "unevenness": 0.0, "opening_height": 0.8,
        "opening_width": 7.0, "opening_area": 3.73, "a4_cents": 0.0,
    },
}  # fmt: skip
LONG = {
    Stage.CANE: {"gouge": 0.59},
    Stage.SHAPED: {},
    Stage.TIED: {
        "staple_length": 47.0, "cane_beyond_staple": 25.0, "tie_length": 72.0, "slip": 0.35,
        "airtight": "yes",
    },
    Stage.BOUND: {"thread_past_staple": 0.0, "airtight": "yes"},
    Stage.SCRAPED: {"closing": "together", "unevenness": 0.0},
    Stage.FINISHING: {
        "overall_length": 70.0, "tip_length": 4.0, "heart_length": 5.0, "back_length": 11.0,
        "bark_length": 3.0, "closing": "together", "unevenness": 0.0,
    },
    Stage.PLAYING: {
        "overall_length": 70.0, "closing": "together", "unevenness": 0.0, "opening_area": 4.67,
        "a4_cents": 0.0, "crow": "octaves",
    },
}  # fmt: skip
BOOKS = {Style.SHORT: SHORT, Style.LONG: LONG}
CLIPPED = {Style.SHORT: 1.0, Style.LONG: 2.0}
STAPLE = {Style.SHORT: 45.0, Style.LONG: 47.0}
ITEMS = ("crow", "low_notes", "staccato", "third_octave", "long_tone", "tuning")
PLAYS = {**dict.fromkeys(ITEMS, 5), "effort": 3}
SPOKE = Told(asked=4, spoke=4)
# a tuning note recorded clearly, twice alike, and the reference reed's beside it
RECORDED = {"tuning": Told()}
STAGES = tuple(SHORT)

# what a photo or a recording usually leaves in doubt, in the quantity's unit
U = {"opening_height": 0.03, "opening_width": 0.05, "opening_area": 0.2, "unevenness": 0.03, "a4_cents": 2.0}


@dataclass(frozen=True, kw_only=True)
class Whole:
    """One reed: what its row changes of the textbook, and what is expected of the checks.

    `noted` are numbers and things seen of any stage, None takes one away; `plays` the ratings; `clips` mm;
    `asks` the keys of what needs attention, all of it and nothing else; `says` and `never` what is read and
    what is not.
    """

    name: str
    style: Style = Style.SHORT
    stage: Stage = Stage.PLAYING
    noted: dict[str, float | str | None] = field(default_factory=dict)
    plays: dict[str, int] = field(default_factory=dict)
    clips: tuple[float, ...] | None = None
    staple: float | None = None
    feel: Flexibility = Flexibility.MEDIUM
    rested: float = 14.0
    bound_for: float | None = None
    ruler: bool = False
    beside: tuple[Reading, ...] = ()
    takes: dict[str, Told] = field(default_factory=dict)
    reference: dict[str, Told] = field(default_factory=dict)
    may_act: bool = True
    asks: tuple[str, ...] = ()
    says: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    source: str = CP


def _reading(key: str, value: float | str, stage: Stage, ruler: bool) -> Reading:
    when = at(24 * (1 + STAGES.index(stage)))
    quantity = QUANTITIES[key]
    if isinstance(value, str):
        return Reading(quantity=key, choice=value, method=Method.EYE, when=when, stage=stage)
    method = Method.RULER if ruler and Method.RULER in quantity.methods else quantity.method
    if method is Method.RULER and not ruler:
        method = Method.CALIPER
    u = U.get(key) or quantity.default_u(method) or 0.0
    measured = Measured(value, u)
    return Reading(
        quantity=key, measured=measured, method=method, moisture=Moisture.WET, when=when, stage=stage
    )


def _noted(row: Whole) -> dict[str, Reading]:
    numbers: dict[str, Reading] = {}
    changed = dict(row.noted)
    for stage in STAGES[: STAGES.index(row.stage) + 1]:
        book = BOOKS[row.style][stage]
        for key in (*book, *(key for key in changed if key not in book and QUANTITIES[key].stage is stage)):
            value = changed.get(key, book.get(key))
            numbers.pop(key, None)
            if value is not None:
                numbers[key] = _reading(key, value, stage, row.ruler)
    return numbers


def facts_of(row: Whole) -> ReedFacts:
    """The facts of a reed as its row has it."""
    scraped = row.stage.order >= Stage.SCRAPED.order
    clips = row.clips if row.clips is not None else (CLIPPED[row.style],)
    others: dict[str, tuple[Reading, ...]] = {}
    for reading in row.beside:
        others[reading.quantity] = (*others.get(reading.quantity, ()), reading)
    played = row.stage is Stage.PLAYING
    return ReedFacts(
        style=row.style,
        stage=row.stage,
        staple_length=row.staple or STAPLE[row.style],
        flexibility=row.feel,
        numbers=_noted(row),
        others=others,
        # the scrape was measured before the first clip
        clips=tuple(clip(mm, 24 * 5 + 1 + place, 0.05) for place, mm in enumerate(clips)) if scraped else (),
        rested=timedelta(days=row.rested),
        bound_for=None if row.bound_for is None else timedelta(days=row.bound_for),
        answers={**PLAYS, **row.plays} if played else {},
        takes={**RECORDED, **row.takes},
        reference_takes={**RECORDED, **row.reference},
        may_act=row.may_act,
    )
