"""How reeds can have come out: what may be asked for, with what is known of each reed."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from django.utils.translation import gettext as _

from lessons.comparison.inference.compared import Measure
from lessons.comparison.pages.kinds import Outcome
from lessons.comparison.pages.rows import Rows
from lessons.term.lookback.rows import GIVEN_UP, PLAYED, ReadingInTerm
from reeds.checks.findings import Outcome as FindingOutcome
from reeds.checks.registry import CHECKS
from reeds.numbers.quantity import Known
from reeds.numbers.words import PLAYING_TEST


def outcomes(rows: Rows) -> dict[str, Outcome]:
    """Return what may be asked for, by key: only what is known of a reed of the term at least."""
    made = {reed.reed for reed in rows.reeds}
    ways: Iterable[Callable[[Rows], Iterable[Outcome]]] = (_played, _days, _rated, _without, _within)
    found = (outcome for way in ways for outcome in way(rows))
    known = (_narrowed(outcome, made) for outcome in found)
    return {outcome.key: outcome for outcome in known if outcome.values}


def _narrowed(outcome: Outcome, made: set[int]) -> Outcome:
    values = {reed: value for reed, value in outcome.values.items() if reed in made}
    return Outcome(**{**vars(outcome), "values": values})


def _played(rows: Rows) -> Iterable[Outcome]:
    values = {r.reed: float(r.outcome == PLAYED) for r in rows.reeds if r.outcome in (PLAYED, GIVEN_UP)}
    yield Outcome(
        key="played",
        label=_("came to play"),
        did=_("came to play"),
        better=_("came to play"),
        values=values,
        no=_("given up before"),
    )


def _days(rows: Rows) -> Iterable[Outcome]:
    values = {life.reed: float(life.days_played) for life in rows.lives if life.ended_at is not None}
    yield Outcome(
        key="days",
        label=_("days it was played, of the reeds that play no more"),
        did=_("days played"),
        better=_("was played on more days"),
        values=values,
        measure=Measure.SHIFT,
    )


def _rated(rows: Rows) -> Iterable[Outcome]:
    """Each item of the playing test: how it spoke last."""
    for item, name in PLAYING_TEST.items():
        values = {r.reed: float(r.speaks) for r in rows.rated if r.item == item and r.speaks is not None}
        places = {"item": _(name)}
        yield Outcome(
            key=f"rating:{item}",
            label=_("how it spoke: %(item)s") % places,
            did=_("spoke better (%(item)s)") % places,
            better=_("spoke better (%(item)s)") % places,
            values=values,
            measure=Measure.PAIRS,
        )


def _without(rows: Rows) -> Iterable[Outcome]:
    """Of the reeds sent: that a kind of finding did not come."""
    found = sorted({(one.about, one.outcome) for one in rows.found})
    for about, outcome in found:
        having = {one.reed for one in rows.found if (one.about, one.outcome) == (about, outcome)}
        places = {"finding": finding_named(about, outcome, rows.known)}
        yield Outcome(
            key=f"without:{about}:{outcome}",
            label=_("was sent without the finding ‘%(finding)s’") % places,
            did=_("came without the finding ‘%(finding)s’") % places,
            better=_("came without the finding ‘%(finding)s’") % places,
            values={reed: float(reed not in having) for reed in rows.sent},
            no=_("with it"),
        )


def finding_named(about: str, outcome: str, known: Known) -> str:
    """Return a kind of finding in words: 'tie length: above'."""
    names = PLAYING_TEST | {check.key: check.name for check in CHECKS}
    name = known[about].name if about in known else names.get(about, about)
    return f"{_(name)}: {_(FindingOutcome(outcome).label)}"


def _within(rows: Rows) -> Iterable[Outcome]:
    """Each quantity with limits: whether the last number lay within its reed's own."""
    for key, readings in rows.readings.items():
        values = {r.reed: _inside(r) for r in readings if r.low is not None or r.high is not None}
        places = {"name": _(rows.known[key].name)}
        yield Outcome(
            key=f"within:{key}",
            label=_("within the sheet's limits: %(name)s") % places,
            did=_("lay within the limits of %(name)s") % places,
            better=_("lay within the limits of %(name)s") % places,
            values=values,
            no=_("outside"),
        )


def _inside(reading: ReadingInTerm) -> float:
    above = reading.low is None or reading.value >= reading.low
    return float(above and (reading.high is None or reading.value <= reading.high))
