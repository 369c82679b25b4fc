"""Reeds, what happened to them, what was measured and noted, how they played, of what they are made."""

from __future__ import annotations

from dataclasses import replace

from lessons.export.gathering.scope import Rows, Scope
from lessons.export.gathering.source import (
    ID,
    Cells,
    Field,
    Source,
    link,
    moment,
    number,
    of_reed,
    person,
    plain,
    word,
)
from lessons.export.packing.shapes import Column, Kind
from lessons.term.limits import Asked, SheetLimits
from reeds.checks.experiments import Blade, Side, Zone
from reeds.numbers.words import PLAYING_TEST, Effort, Method, Moisture, Speaks
from reeds.numbers.words import gettext_noop as _
from reeds.reed.models.cane import CaneLot
from reeds.reed.models.knife import Knife
from reeds.reed.models.measurement import Measurement
from reeds.reed.models.playing import PlayingTest, Rating
from reeds.reed.models.reed import FLEXIBILITY_CHOICES, STAGE_CHOICES, EventKind, Reed, ReedEvent
from reeds.sheet.models.pattern import Offset
from reeds.wording import choices_of

ITEMS = tuple(PLAYING_TEST.items())


def _owner(scope: Scope, reed: int) -> Cells:
    here = scope.reeds[reed]
    return scope.names.get(here.owner, ""), here.number


REEDS = Source(
    name="reeds",
    said=_("One row a reed."),
    model=Reed,
    reed="pk",
    whose="owner",
    fields=(
        ID,
        Field(
            (
                Column("student", _("whose it is")),
                Column("reed", _("its number, as on its cork"), Kind.WHOLE),
            ),
            ("pk",),
            _owner,
        ),
        link("student_id", "people", _("their row in people.csv"), path="owner"),
        moment("made_on", _("when it was begun"), path="made_at"),
        word("stage", _("how far it is"), STAGE_CHOICES),
        moment("stage_since", _("since when it is there")),
        link("sheet_id", "sheets", _("the version of the measuring sheet it follows"), path="version"),
        plain("sheet", _("the name of that sheet"), path="version__pattern__name"),
        link("cane_id", "cane", _("the cane lot it was made of"), path="cane"),
        plain("cane", _("the label of that lot"), path="cane__label"),
        plain("shape", _("its shape")),
        plain("staple", _("its staple")),
        number("nominal_staple_length", _("nominal length of the staple"), "mm", path="staple_length"),
        word("feel", _("how the wet cane feels"), FLEXIBILITY_CHOICES, path="flexibility"),
        plain("is_reference", _("whether recordings are compared with it"), Kind.YES_NO),
        plain("is_model", _("whether it is a model to compare with"), Kind.YES_NO),
    ),
)

EVENTS = Source(
    name="events",
    said=_("One row for each thing that happened to a reed."),
    model=ReedEvent,
    when="at",
    reed="reed",
    fields=(
        ID,
        of_reed(),
        word("kind", _("what happened"), EventKind.choices),
        moment("at", _("when")),
        person("by", _("who noted it")),
        word("from_stage", _("the stage it left"), STAGE_CHOICES),
        word("to_stage", _("the stage it came to"), STAGE_CHOICES),
        number("clip", _("how much was clipped"), "mm", path="clip_mm"),
        number("clip_u", _("standard uncertainty of the clip"), "mm"),
        plain("strokes", _("strokes on each place"), Kind.WHOLE),
        word("side", _("on which side"), choices_of(Side)),
        word("blade", _("on which blade"), choices_of(Blade)),
        word("zone", _("where"), choices_of(Zone)),
        link("sheet_id", "sheets", _("the sheet it was moved to"), path="version"),
        word("feel", _("how the wet cane felt"), FLEXIBILITY_CHOICES),
        plain("why", _("why, in words")),
        moment("taken_back_at", _("when it was taken back as a slip: it counts no more")),
    ),
)


def _sheets(scope: Scope) -> SheetLimits:
    return SheetLimits(scope.member, scope.known)


def _limits(scope: Scope, reed: int, stage: str, quantity: str) -> Cells:
    if quantity not in scope.known:
        return None, None, None
    here = scope.reeds[reed]
    asked = Asked(here.owner, stage, quantity, here.version, here.staple_length, here.flexibility)
    return scope.once(_sheets)[asked]


def _unit(scope: Scope, quantity: str) -> Cells:
    return (scope.known[quantity].unit if quantity in scope.known else "",)


QUANTITY = replace(
    plain("quantity", _("what was measured: a key of quantities.csv")),
    leads="quantities",
)
_HOW = (
    word("method", _("how it was measured"), choices_of(Method)),
    word("moisture", _("whether the cane was wet"), choices_of(Moisture)),
    word("at_stage", _("where the reed stood when it was measured"), STAGE_CHOICES, path="stage"),
    moment("measured_on", _("when it was measured"), path="at"),
    moment("entered_at", _("when it was noted here")),
    person("by", _("who noted it")),
    link("photo_id", "photos", _("the photo it was measured on"), path="photo"),
    link("take_id", "takes", _("the recording it was heard in"), path="take"),
)


def _numbers(scope: Scope) -> Rows:
    return Measurement.objects.visible_to(scope.member).filter(value__isnull=False)


def _words(scope: Scope) -> Rows:
    return Measurement.objects.visible_to(scope.member).filter(value__isnull=True)


NUMBERS = Source(
    name="numbers",
    said=_("One row for each number that was taken; numbers are added and never changed."),
    model=Measurement,
    taken=_numbers,
    when="at",
    reed="reed",
    fields=(
        ID,
        of_reed(),
        QUANTITY,
        number("value", _("the number, in the unit beside it")),
        number("u", _("its standard uncertainty (k = 1), in the same unit")),
        Field((Column("unit", _("the unit")),), ("quantity",), _unit),
        Field(
            (
                Column("low_limit", _("low limit by the reed's present sheet, with offsets"), Kind.NUMBER),
                Column("aim", _("aim by the same sheet"), Kind.NUMBER),
                Column("high_limit", _("high limit by the same sheet"), Kind.NUMBER),
            ),
            ("reed", "stage", "quantity"),
            _limits,
        ),
        *_HOW,
        plain("computed_from", _("what it was computed from, where it was not read")),
    ),
)

NOTED = Source(
    name="noted",
    said=_("One row for each thing that was seen and noted as a word."),
    model=Measurement,
    taken=_words,
    when="at",
    reed="reed",
    fields=(
        ID,
        of_reed(),
        QUANTITY,
        plain("value", _("the word: quantities.csv names the choices"), path="word"),
        *_HOW,
    ),
)

PLAYING_TESTS = Source(
    name="playing_tests",
    said=_("One row for each time a reed was tried by the playing test."),
    model=PlayingTest,
    when="at",
    reed="reed",
    fields=(
        ID,
        of_reed(),
        moment("at", _("when")),
        person("by", _("who played")),
        word("effort", _("how hard the reed is to blow"), choices_of(Effort)),
    ),
)

RATINGS = Source(
    name="ratings",
    said=_("One row for each item of a playing test that was rated."),
    model=Rating,
    when="test__at",
    reed="test__reed",
    fields=(
        ID,
        link("playing_test_id", "playing_tests", _("its playing test"), path="test"),
        of_reed("test__reed"),
        moment("at", _("when"), path="test__at"),
        word("item", _("what was played"), ITEMS),
        word("speaks", _("how it speaks"), choices_of(Speaks)),
        word("effort", _("how hard it is to blow"), choices_of(Effort)),
    ),
)

CANE = Source(
    name="cane",
    said=_("One row for each lot of cane."),
    model=CaneLot,
    whose="owner",
    fields=(
        ID,
        person("student", _("whose it is"), path="owner"),
        plain("label", _("what the grower or the bag says")),
        number("tube_diameter", _("tube diameter"), "mm"),
        number("gouge", _("gouge"), "mm"),
        plain("pieces", _("pieces bought"), Kind.WHOLE),
        plain("lost", _("pieces lost"), Kind.WHOLE),
        plain("bought_on", _("day it was bought"), Kind.DAY),
        plain("finished_on", _("day it was used up"), Kind.DAY),
        plain("note", _("note")),
        moment("added_at", _("when it was noted here")),
    ),
)

OFFSETS = Source(
    name="offsets",
    said=_("One row for each quantity in which a player's instrument wants more or less than the sheet."),
    model=Offset,
    whose="student",
    fields=(
        ID,
        person("student", _("whose instrument")),
        plain("quantity", _("of which quantity: a key of quantities.csv")),
        number("delta", _("how much more than the sheet, in the quantity's unit")),
        plain("why", _("why")),
        person("set_by", _("who set it")),
        moment("set_at", _("when")),
    ),
)

KNIVES = Source(
    name="knives",
    said=_("One row for each player whose knife's last sharpening is noted."),
    model=Knife,
    whose="owner",
    fields=(
        ID,
        person("student", _("whose knife"), path="owner"),
        plain("sharpened_on", _("day it was sharpened last"), Kind.DAY),
    ),
)

TABLES = (
    REEDS,
    EVENTS,
    NUMBERS,
    NOTED,
    PLAYING_TESTS,
    RATINGS,
    CANE,
    OFFSETS,
    KNIVES,
)
