"""What the numbers are compared with: quantities, measuring sheets, playing tests, the doubts of tools."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.translation import gettext

from lessons.export.gathering.scope import Scope
from lessons.export.gathering.source import ID, Cells, Computed, Source, moment, number, person, plain, word
from lessons.export.packing.shapes import Column, Kind, Shape
from reeds.numbers.quantity import Quantity
from reeds.numbers.words import Method, Stage, Style
from reeds.numbers.words import gettext_noop as _
from reeds.sheet.models.doubt import OwnDoubt
from reeds.sheet.models.own import OwnQuantity
from reeds.sheet.models.pattern import Pattern, PatternVersion
from reeds.wording import choices_of

QUANTITY_SHAPE = Shape(
    "quantities",
    _("One row for each quantity that the studio knows; its key stands wherever a table names a quantity."),
    (
        Column("id", _("its key")),
        Column("name", _("its name")),
        Column("unit", _("its unit; empty for a word or a bare number")),
        Column("stage", _("the stage from which on it can be measured"), words=choices_of(Stage)),  # type: ignore[arg-type]  # labels are lazy
        Column("is_number", _("whether it is a number and not a word"), Kind.YES_NO),
        Column("least", _("what is never less"), Kind.NUMBER),
        Column("most", _("what is never more"), Kind.NUMBER),
        Column("choices", _("the words it can be, each with what it means")),
        Column("is_own", _("whether the studio added it itself"), Kind.YES_NO),
        Column("is_asked", _("whether it is asked still"), Kind.YES_NO),
        Column("help", _("how it is measured")),
    ),
    key="id",
)


def _quantities(scope: Scope) -> Iterator[Cells]:
    asked = {one.key for one in scope.known.on_sheets}
    for key, one in scope.known.items():
        yield _quantity(one, is_own=scope.known.is_own(key), is_asked=key in asked)


def _quantity(one: Quantity, *, is_own: bool, is_asked: bool) -> Cells:
    choices = "; ".join(f"{value} = {gettext(label)}" for value, label in one.choices)
    bounds = (one.low, one.high) if one.is_number else (None, None)
    said = gettext(one.help) if one.help else ""
    named = (one.key, gettext(one.name), one.unit, one.stage.value, one.is_number)
    return [*named, *bounds, choices, is_own, is_asked, said]


QUANTITIES = Computed(shape=QUANTITY_SHAPE, models=(OwnQuantity,), made=_quantities)

SHEETS = Source(
    name="sheets",
    said=_("One row for each version of each measuring sheet."),
    model=PatternVersion,
    also=(Pattern,),
    fields=(
        ID,
        plain("name", _("the sheet's name"), path="pattern__name"),
        word("style", _("for which scrape"), choices_of(Style), path="pattern__style"),
        plain("version", _("which version, from 1"), Kind.WHOLE, path="number"),
        plain("why", _("what changed")),
        person("made_by", _("who made it")),
        moment("made_at", _("when")),
        moment("put_away_at", _("when the sheet was put away"), path="pattern__put_away_at"),
    ),
)

ROW_SHAPE = Shape(
    "sheet_rows",
    _("One row for each row of a measuring sheet."),
    (
        Column("sheet_id", _("the sheet's version"), Kind.WHOLE),
        Column("quantity", _("which quantity: a key of quantities.csv")),
        Column("low_limit", _("low limit, in the quantity's unit"), Kind.NUMBER),
        Column("aim", _("aim"), Kind.NUMBER),
        Column("high_limit", _("high limit"), Kind.NUMBER),
        Column("choice", _("what is wanted, of a word")),
        Column("staple", _("the nominal staple length it is for; empty for all"), Kind.NUMBER, "mm"),
        Column("feel", _("the feel of the cane it is for; empty for all")),
        Column("stage", _("the stage from which on it holds; empty for all")),
        Column("photo", _("whether a photo is asked for"), Kind.YES_NO),
        Column("rests_on", _("what it rests on")),
    ),
    leads={"sheet_id": "sheets"},
)


def _versions(scope: Scope) -> Iterator[PatternVersion]:
    rows = PatternVersion.objects.visible_to(scope.member).order_by("pk")
    return rows.iterator(chunk_size=200)


def _sheet_rows(scope: Scope) -> Iterator[Cells]:
    for version in _versions(scope):
        for row in version.sheet_in(scope.known).limits:
            limits = (row.low, row.aim, row.high, row.choice)
            for_what = (row.staple, row.flexibility, row.stage, row.photo)
            said = gettext(row.source) if row.source else ""
            yield [version.pk, row.quantity, *limits, *for_what, said]


SHEET_ROWS = Computed(shape=ROW_SHAPE, models=(PatternVersion,), made=_sheet_rows)

ITEM_SHAPE = Shape(
    "playing_items",
    _("One row for each item of a sheet's playing test, in order."),
    (
        Column("sheet_id", _("the sheet's version"), Kind.WHOLE),
        Column("place", _("its place in the test, from 1"), Kind.WHOLE),
        Column("item", _("what is played")),
        Column("notes", _("on which notes")),
        Column("tempo", _("how fast, beats a minute"), Kind.WHOLE),
    ),
    leads={"sheet_id": "sheets"},
)


def _items(scope: Scope) -> Iterator[Cells]:
    for version in _versions(scope):
        for place, item in enumerate(version.test, start=1):
            yield [version.pk, place, item.key, " ".join(item.notes), item.tempo]


ITEMS = Computed(shape=ITEM_SHAPE, models=(PatternVersion,), made=_items)

DOUBTS = Source(
    name="tool_doubts",
    said=_("One row for each way of measuring whose doubt the studio set itself."),
    model=OwnDoubt,
    fields=(
        ID,
        word("method", _("how it is measured"), choices_of(one for one in Method if one.by_hand)),
        number("u", _("standard uncertainty of a length"), "mm", path="u_mm"),
        person("set_by", _("who set it")),
        moment("set_at", _("when")),
    ),
)

TABLES = (QUANTITIES, SHEETS, SHEET_ROWS, ITEMS, DOUBTS)
