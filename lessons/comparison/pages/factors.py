"""In what reeds can differ: what may be asked about, with what is known of each reed."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _

from lessons.comparison.pages.kinds import Factor
from lessons.comparison.pages.rows import Rows
from lessons.term.lookback.rows import ReedInTerm
from reeds.numbers.words import Flexibility


def factors(rows: Rows) -> dict[str, Factor]:
    """Return what may be asked about, by key: only that in which reeds of the term do differ."""
    found = (*_made_of(rows.reeds), *_lengths(rows), *_noted(rows))
    return {factor.key: factor for factor in found if len(set(factor.values.values())) > 1}


def _made_of(reeds: Iterable[ReedInTerm]) -> Iterable[Factor]:
    reeds = list(reeds)

    def words(key: str, label: str, name: str) -> Factor:
        told = {reed.reed: " ".join(str(getattr(reed, name)).split()) for reed in reeds}
        # 'Narrow' and 'narrow' are one: told as it was written first
        first = {value.casefold(): value for value in reversed(told.values())}
        return Factor(key, label, {reed: first[value.casefold()] for reed, value in told.items() if value})

    yield Factor(
        "rest",
        _("rest before scraping"),
        {reed.reed: reed.rested_days for reed in reeds if reed.rested_days is not None},
        more=_("that rested longer"),
        unit=_("days"),
    )
    yield words("lot", _("cane lot"), "lot_label")
    yield words("staple", _("staple"), "staple")
    yield Factor(
        "staple_length",
        _("staple length"),
        {reed.reed: reed.staple_length for reed in reeds if reed.staple_length is not None},
        more=_("on the longer staple"),
        unit="mm",
    )
    yield words("shape", _("shape"), "shape")
    yield Factor(
        "feel",
        _("feel of the wet cane"),
        {
            reed.reed: _(Flexibility(reed.flexibility).label)
            for reed in reeds
            if reed.flexibility != Flexibility.UNKNOWN
        },
    )


def _lengths(rows: Rows) -> Iterable[Factor]:
    yield Factor(
        "scrape_length",
        _("length of the scrape"),
        {one.reed: one.value for one in rows.readings.get("scrape_length", ())},
        more=_("with the longer scrape"),
        unit="mm",
    )


def _noted(rows: Rows) -> Iterable[Factor]:
    """Each thing noted at the bench: what was noted last."""
    for key, noted in rows.noted.items():
        words = {value: _(label) for value, label in rows.known[key].choices}
        values = {one.reed: words.get(one.word, one.word) for one in noted}
        yield Factor(f"noted:{key}", _(rows.known[key].name), values)
