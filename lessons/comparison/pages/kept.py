"""Whether a reed went the way that was drawn for it, and what is to be done with it now."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import Enum

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from lessons.comparison.models import Allotment, Differs, in_days
from reeds.numbers.words import Stage
from reeds.reed.models.reed import AT_REST, Reed, ReedEvent
from reeds.reed.resting import rested_before_scraping
from reeds.templatetags.quantities import lasting
from studio.numerals import for_eyes

DAY = dt.timedelta(days=1)
# how far a rest may miss what was drawn: a tenth or 18 hours short, a quarter or two days over; own choice
SHORT_PART, SHORT_DAYS, OVER_PART, OVER_DAYS = 0.1, 0.75, 0.25, 2.0
# a scrape within half a millimetre, or within twice its doubt, is as long as was drawn; own choice
SCRAPE_MM = 0.5


class State(Enum):
    """How it stands with one place."""

    EMPTY = "empty"
    OUT = "out"
    UNDER_WAY = "under way"
    KEPT = "kept"
    NOT_KEPT = "not kept"


@dataclass(frozen=True)
class Place:
    """One place of a plan as it stands: what is to be done with its reed, or what was not kept to."""

    row: Allotment
    state: State
    says: str

    @property
    def reed(self) -> Reed | None:
        return self.row.reed if self.state is not State.OUT else None


def place(row: Allotment) -> Place:
    """Return how it stands with a place; its reed comes with `steps` and `scrapes` (see PlanPage)."""
    reed = row.reed
    if reed is None:
        left = row.student.left_at is not None
        return Place(row, State.EMPTY, _("stays empty: has left the studio") if left else _("no blank yet"))
    if reed.taken_out_at is not None:
        return Place(row, State.OUT, _("taken out: it counts no more"))
    if row.not_kept_why:
        return Place(row, State.NOT_KEPT, row.not_kept_why)
    if reed.stage == Stage.GIVEN_UP and not _was_scraped(reed):
        return Place(row, State.NOT_KEPT, _("given up before it was scraped"))
    return _by_what_differs(row, reed)


def _by_what_differs(row: Allotment, reed: Reed) -> Place:
    differs = Differs(row.plan.differs)
    if differs is Differs.REST:
        return _rest(row, reed)
    if differs is Differs.SCRAPE:
        return _scrape(row, reed)
    if differs is Differs.OTHER:
        return Place(row, State.KEPT if _was_scraped(reed) else State.UNDER_WAY, row.way)
    return _made_of(row, reed, differs)


def _was_scraped(reed: Reed) -> bool:
    steps = (Stage(step.to_stage) for step in reed.steps if step.to_stage)  # type: ignore[attr-defined]
    return any(stage.is_scraped for stage in steps) or Stage(reed.stage).is_scraped


def _rest(row: Allotment, reed: Reed) -> Place:
    wanted = row.plan.amount(row.arm)
    rested = rested_before_scraping(reed.steps)  # type: ignore[attr-defined]  # prefetched
    if rested is None:
        return _still_resting(row, reed, wanted)
    days = rested / DAY
    places = {"days": lasting(rested), "wanted": in_days(wanted)}
    told = _("rested %(days)s, drawn was %(wanted)s") % places
    if wanted - days > max(SHORT_DAYS, SHORT_PART * wanted):
        return Place(row, State.NOT_KEPT, _("scraped early: %s") % told)
    if days - wanted > max(OVER_DAYS, OVER_PART * wanted):
        return Place(row, State.NOT_KEPT, _("scraped late: %s") % told)
    return Place(row, State.KEPT, told)


def _still_resting(row: Allotment, reed: Reed, wanted: float) -> Place:
    since = _tied_at(reed)
    if not reed.is_blank or since is None:
        scraped = _was_scraped(reed)
        says = _("its rest is not known") if scraped else _("is to %s, once it is tied") % row.way
        return Place(row, State.UNDER_WAY, says)
    until = since + wanted * DAY
    if timezone.now() < until:
        day = date_format(timezone.localtime(until), "DAY")
        return Place(row, State.UNDER_WAY, _("is to rest until %s") % day)
    over = (timezone.now() - until) / DAY
    if over > max(OVER_DAYS, OVER_PART * wanted):
        return Place(row, State.NOT_KEPT, _("rests longer than it was to (%s)") % in_days(wanted))
    return Place(row, State.UNDER_WAY, _("has rested its %s: scrape it now") % in_days(wanted))


def _tied_at(reed: Reed) -> dt.datetime | None:
    """Return when it was tied last, or bound where tying was not noted."""
    steps: list[ReedEvent] = reed.steps  # type: ignore[attr-defined]  # prefetched
    times = {stage: [step.at for step in steps if step.to_stage == stage] for stage in AT_REST}
    return max(times[Stage.TIED] or times[Stage.BOUND], default=None)


def _scrape(row: Allotment, reed: Reed) -> Place:
    wanted, read = row.plan.amount(row.arm), reed.scrapes  # type: ignore[attr-defined]  # prefetched
    if not read:
        return Place(row, State.UNDER_WAY, _("is to get %s") % row.way)
    value, u = read[-1].value, read[-1].u
    if abs(value - wanted) > max(SCRAPE_MM, 2 * u):
        places = {"way": row.way, "value": for_eyes(value, 1)}
        return Place(row, State.NOT_KEPT, _("was to get %(way)s, has %(value)s mm") % places)
    return Place(row, State.KEPT, row.way)


def _made_of(row: Allotment, reed: Reed, differs: Differs) -> Place:
    """Cane, staple and shape are what was noted of the reed; nothing noted says nothing."""
    given, has = row.plan.given(row.arm), _has(reed, differs)
    if not has:
        return Place(row, State.UNDER_WAY, _("%s; not noted of the reed yet") % row.way)
    if has.casefold() != given.casefold():
        return Place(row, State.NOT_KEPT, _("was to be %(way)s, is ‘%(has)s’") % {"way": row.way, "has": has})
    return Place(row, State.KEPT, row.way)


def _has(reed: Reed, differs: Differs) -> str:
    if differs is Differs.LOT:
        return reed.cane.label if reed.cane else ""
    if differs is Differs.STAPLE_LENGTH:
        return "" if reed.staple_length is None else f"{reed.staple_length:g}"
    return reed.staple if differs is Differs.STAPLE else reed.shape
