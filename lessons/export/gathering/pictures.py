"""Photos and recordings: a row for each, where its file lies in the export, and what was found in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePosixPath

from lessons.demonstration.models import Demonstration
from lessons.export.gathering.scope import Rows, Scope
from lessons.export.gathering.source import (
    AT_ONCE,
    ID,
    Cells,
    Field,
    FileHere,
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
from lessons.voice.models import Voice
from reeds.numbers.words import Method
from reeds.numbers.words import gettext_noop as _
from reeds.photo.models.card import PrintedCard
from reeds.photo.models.measuring import PhotoMeasuring, ScaleKind
from reeds.photo.models.photo import Photo, PhotoState, View
from reeds.photo.models.tool import ToolReading
from reeds.take.models import ITEM_CHOICES, Take, TakeState
from reeds.wording import choices_of


def _placed(scope: Scope, folder: str, stem: str, stored: str) -> str:
    """Return where a file lies; '' for a row without one, as a photo that is not prepared yet."""
    there = stored and scope.with_pictures
    return f"{folder}/{stem}{PurePosixPath(stored).suffix}" if there else ""


def _of_reed(kind: str) -> Field:
    """The column that says where a photo or recording of a reed lies."""
    stored = {"photo": "upright", "take": "file"}[kind]

    def cells(scope: Scope, pk: int, reed: int, name: str) -> Cells:
        here = scope.reeds[reed]
        folder = f"{kind}s/student-{here.owner}/reed-{here.number}"
        shown = "" if here.owner in scope.hidden else name
        return (_placed(scope, folder, f"{kind}-{pk}", shown),)

    said = _("where its file lies in this export; empty for one that is not ready, or hidden without consent")
    return Field((Column("file", said),), ("pk", "reed", stored), cells)


def _beside(folder: str, stem: str, stored: str, column: str = "file") -> Field:
    """The same of a file that is of no reed."""
    said = _("where its file lies in this export; empty where there is none")
    place = lambda scope, pk, name: (_placed(scope, folder, f"{stem}-{pk}", name),)  # noqa: E731
    return Field((Column(column, said),), ("pk", stored), place)


PHOTOS = Source(
    name="photos",
    said=_("One row for each photo of a reed."),
    model=Photo,
    when="sent_at",
    reed="reed",
    fields=(
        ID,
        of_reed(),
        word("view", _("from where the reed was seen"), View.choices),
        _of_reed("photo"),
        person("by", _("who sent it")),
        moment("sent_at", _("when it came")),
        moment("taken_at", _("when it was taken, by the camera's clock")),
        plain("width", _("width, upright, in pixels"), Kind.WHOLE, unit="px"),
        plain("height", _("height, upright, in pixels"), Kind.WHOLE, unit="px"),
        number("focal_35mm", _("focal length as the camera said, for a 35 mm frame"), "mm"),
        word("state", _("how far the server is with it"), PhotoState.choices),
        plain("refusal", _("why it could not be used")),
        plain("flaws", _("what looked wrong with it: dark, blurred, small, mirrored, cut"), Kind.NESTED),
    ),
)

MEASURINGS = Source(
    name="measurings",
    said=_("One row for each photo that was measured; the lengths kept from it are in numbers.csv."),
    model=PhotoMeasuring,
    when="photo__sent_at",
    reed="photo__reed",
    fields=(
        ID,
        link("photo_id", "photos", _("the photo"), path="photo"),
        word("scale", _("what gave the millimetres"), ScaleKind.choices),
        link("card_id", "cards", _("the printed card"), path="card"),
        person("measured_by", _("who kept the lengths")),
        moment("measured_at", _("when")),
        plain("landmarks", _("the points that were set, in pixels of the upright photo"), Kind.NESTED),
        plain("outline", _("the outline of the opening as it was found"), Kind.NESTED),
        plain("reference", _("what else was set: the ends of a ruler, an outline"), Kind.NESTED),
        plain("lengths", _("lengths and their standard uncertainties, in mm"), Kind.NESTED),
    ),
)

TAKES = Source(
    name="takes",
    said=_("One row for each recording of a reed."),
    model=Take,
    when="at",
    reed="reed",
    fields=(
        ID,
        of_reed(),
        word("item", _("what was played"), ITEM_CHOICES),
        _of_reed("take"),
        person("by", _("who sent it")),
        moment("at", _("when")),
        plain("at_stage", _("where the reed stood then"), path="stage"),
        number("a4", _("the studio's A then"), "Hz", path="a4_hz"),
        word("state", _("how far the server is with it"), TakeState.choices),
        plain("refusal", _("why it could not be used")),
        plain("tempo", _("the tempo that was asked for, beats a minute"), Kind.WHOLE),
        plain("notes", _("the notes that were asked for"), Kind.NESTED),
        plain("granted", _("what the browser said of its own processing"), Kind.NESTED),
        plain("heard", _("what was heard, note by note"), Kind.NESTED, path="result"),
    ),
)


def _cards(scope: Scope) -> Rows:
    """Printed cards; in one student's export none that another student printed."""
    rows = PrintedCard.objects.visible_to(scope.member)
    return rows.filter(owner__in=scope.names) if scope.student else rows


CARDS = Source(
    name="cards",
    said=_("One row for each card that was printed to be photographed with reeds."),
    model=PrintedCard,
    taken=_cards,
    fields=(
        ID,
        person("owner", _("who printed it")),
        plain("card", _("its number"), Kind.WHOLE, path="number"),
        number("bar", _("what its 100 mm bar measures"), "mm", path="bar_mm"),
        number("bar_u", _("standard uncertainty of that"), "mm"),
        word("bar_method", _("how the bar was measured"), choices_of(Method)),
        moment("made_at", _("when it was made")),
        person("noted_by", _("who measured its bar")),
        moment("noted_at", _("when")),
    ),
)

TOOL_READINGS = Source(
    name="tool_readings",
    said=_("One row for each length of a reed measured on a photo and with a caliper as well."),
    model=ToolReading,
    when="at",
    reed="photo__reed",
    fields=(
        ID,
        link("photo_id", "photos", _("the photo"), path="photo"),
        of_reed("photo__reed"),
        plain("quantity", _("which length: a key of quantities.csv")),
        number("by_photo", _("by the photo"), "mm", path="seen_mm"),
        number("by_photo_u", _("standard uncertainty of that"), "mm", path="seen_u"),
        number("by_caliper", _("by the caliper"), "mm", path="held_mm"),
        number("by_caliper_u", _("standard uncertainty of that"), "mm", path="held_u"),
        person("by", _("who measured")),
        moment("at", _("when")),
    ),
)


def _voices(scope: Scope) -> Rows:
    rows = Voice.objects.visible_to(scope.member)
    if scope.student:
        rows = rows.filter(answers__submission__student=scope.student, answers__sent_at__isnull=False)
    return Voice.objects.filter(pk__in=rows.values("pk"))  # once each, though several answers share it


VOICES = Source(
    name="voices",
    said=_("One row for each spoken note of a teacher."),
    model=Voice,
    taken=_voices,
    when="at",
    fields=(
        ID,
        person("by", _("who spoke")),
        moment("at", _("when")),
        number("seconds", _("how long it is"), "s", path="sound_seconds"),
        _beside("voices", "voice", "sound"),
    ),
)


def _demonstrations(scope: Scope) -> Rows:
    rows = Demonstration.objects.visible_to(scope.member)
    return rows if scope.member.leads else rows.shown()


DEMONSTRATIONS = Source(
    name="demonstrations",
    said=_("One row for each demonstration of the studio's teachers."),
    model=Demonstration,
    taken=_demonstrations,
    fields=(
        ID,
        plain("title", _("what it shows")),
        plain("words", _("the words")),
        plain("about", _("what it is offered beside")),
        person("by", _("who made it"), path="made_by"),
        moment("made_at", _("when")),
        moment("put_away_at", _("when it was put away")),
        _beside("demonstrations", "photo", "photo_screen", "photo"),
        _beside("demonstrations", "sound", "sound", "sound"),
    ),
)

TABLES = (PHOTOS, MEASURINGS, TAKES, CARDS, TOOL_READINGS, VOICES, DEMONSTRATIONS)
# of which tables a column says where a file lies, and which field of the row holds it
_FILES = (
    (PHOTOS, "file", "upright"),
    (TAKES, "file", "file"),
    (VOICES, "file", "sound"),
    (DEMONSTRATIONS, "photo", "photo_screen"),
    (DEMONSTRATIONS, "sound", "sound"),
)


def files(scope: Scope) -> Iterator[FileHere]:
    """Yield the files of an export, those whose rows are in it; none where pictures were left out."""
    if not scope.with_pictures:
        return
    for source, column, field in _FILES:
        yield from _files_of(scope, source, column, field)


def _files_of(scope: Scope, source: Source, column: str, field: str) -> Iterator[FileHere]:
    here = next(one for one in source.fields if one.columns[0].name == column)
    paths = ("pk", field, *([source.reed] if source.reed else []), *here.paths)
    rows = source.asked(scope).order_by("pk").values_list(*paths)
    for pk, stored, *values in rows.iterator(chunk_size=AT_ONCE):
        reed = values.pop(0) if source.reed else None
        place = str(here.cells(scope, *values)[0]) if reed is None or reed in scope.reeds else ""
        if stored and place:
            yield FileHere(source.name, pk, stored, place)
