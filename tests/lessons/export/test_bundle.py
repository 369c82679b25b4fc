"""The whole export of a world in which everything is there once."""

from __future__ import annotations

import json
import re
import zipfile
from pathlib import Path

import pytest
from django.core.files.storage import default_storage
from django.utils import timezone

from lessons.export import bundle as bundling
from lessons.export.gathering.reasons import LEFT_OUT
from lessons.export.tasks import contents
from reeds.numbers.guard import unguarded
from reeds.reed.models.measurement import Measurement
from reeds.sheet.models.pattern import Offset
from studio.errors import NotPossible
from tests.lessons.export.reading import bundle
from tests.outside.test_w3c_web_annotation_2017 import check_annotation, check_lifecycle, is_iri
from tests.world import World

TABLES = contents().tables
FOLDERS = ("photos/", "takes/", "voices/", "demonstrations/")
SHAPES = {table.shape.name: table.shape for table in TABLES}


@pytest.fixture(scope="module")
def made(once):
    return once(World)


@pytest.fixture
def world(made, anew):
    world = anew(made)
    world.number = measure(world.reed, "tie_length", 72.4, at=timezone.now())
    world.angle = measure(world.reed, world.own.key, 45.0, own=world.own)
    world.leak = Measurement.objects.create(
        studio=world.studio, reed=world.reed, quantity="airtight", word="no", method="eye", stage="tied"
    )
    make_findings(world)
    return world


def measure(reed, key, value, **given):
    told = {"u": 0.2, "method": "ruler", "moisture": "dry", "stage": "tied", "by": reed.owner}
    return Measurement.objects.create(
        studio=reed.studio, reed=reed, quantity=key, value=value, **told | given
    )


def make_findings(world):
    found = {"value": 72.4, "u": 0.2, "low": 71.0, "high": 73.0, "quantity": "tie_length"}
    world.answered.findings = [{"check": "limits", "outcome": "within", "message": "Within.", **found}]
    world.answered.save()


@pytest.fixture(params=["student", "teacher", "one student", "one term", "without pictures"])
def any_bundle(request, world):
    return {
        "student": lambda: bundle(world.student),
        "teacher": lambda: bundle(world.teacher),
        "one student": lambda: bundle(world.teacher, world.student),
        "one term": lambda: bundle(world.teacher, term=world.term),
        "without pictures": lambda: bundle(world.student, with_pictures=False),
    }[request.param]()


# --- the shape of it ------------------------------------------------------------------------------


def test_frictionless_finds_nothing_wrong(any_bundle, tmp_path):
    """Data Package, Tabular Data Resource and Table Schema of the Frictionless Standards v1."""
    from frictionless import Package, validate  # slow to import

    any_bundle.zip.extractall(tmp_path)
    report = validate(str(tmp_path / "datapackage.json"))
    assert report.valid, report.flatten(["name", "rowNumber", "fieldName", "note"])
    rows = Package(str(tmp_path / "datapackage.json")).get_resource("numbers").read_rows()
    assert {float(row["value"]) for row in rows} == {72.4, 45.0}


def test_frictionless_would_find_a_wrong_cell(world, tmp_path):
    from frictionless import validate

    bundle(world.student).zip.extractall(tmp_path)
    numbers = tmp_path / "csv/numbers.csv"
    numbers.write_bytes(numbers.read_bytes().replace(b"72.4", b"seventy"))
    assert not validate(str(tmp_path / "datapackage.json")).valid


def test_every_file_is_whole_and_every_table_is_there_twice(any_bundle):
    assert any_bundle.zip.testzip() is None
    tables = {name[4:-4] for name in any_bundle.names if name.startswith("csv/")}
    assert tables == set(SHAPES) == {name[5:-5] for name in any_bundle.names if name.startswith("json/")}


def test_the_json_says_what_the_csv_says(any_bundle):
    for name, shape in SHAPES.items():
        flat, nested = any_bundle.table(name), any_bundle.json(f"json/{name}.json")
        assert len(flat) == len(nested)
        for row, deep in zip(flat, nested, strict=True):
            assert list(deep) == shape.names
            assert {key: as_csv(deep[key]) for key in row} == row, name


def as_csv(value):
    if isinstance(value, bool):
        return str(value).lower()
    return "" if value is None else str(value)


def test_a_csv_is_as_rfc_4180_has_it_with_a_byte_order_mark(any_bundle):
    for name in SHAPES:
        data = any_bundle.zip.read(f"csv/{name}.csv")
        assert data.startswith(b"\xef\xbb\xbf")
        assert data.endswith(b"\r\n")
        assert b"\n" not in data.replace(b"\r\n", b"")  # no text of this world has a break in it


def test_the_readme_names_every_column_with_its_unit_and_every_reason(any_bundle):
    text = any_bundle.text("README.txt")
    for name, shape in SHAPES.items():
        part = text.split(f"csv/{name}.csv (", 1)[1].split("\r\n\r\n", 1)[0]
        for column in shape.columns:
            assert f"  {column.name}: " in part
            assert not column.unit or f"[{column.unit}]" in part
    for model, why in LEFT_OUT.items():
        assert f"- {model}: {why}" in text
    assert "apostrophe" in text


def test_every_number_has_a_unit_in_its_column_beside_it_or_in_its_words():
    """What is a number and no count says in which unit it is."""
    bare = [
        f"{shape.name}.{column.name}"
        for shape in SHAPES.values()
        for column in shape.columns
        if column.kind == "number" and not column.unit and "unit" not in {c.name for c in shape.columns}
        if "quantity" not in {c.name for c in shape.columns}
    ]
    assert bare == []


# --- what is in it --------------------------------------------------------------------------------


def test_a_number_has_its_doubt_its_way_its_limits_and_its_reed(world):
    (row,) = [row for row in bundle(world.student).table("numbers") if row["quantity"] == "tie_length"]
    wanted = {
        "value": "72.4",
        "u": "0.2",
        "unit": "mm",
        "method": "ruler",
        "moisture": "dry",
        "at_stage": "tied",
        "student": str(world.student),
        "reed": str(world.reed.number),
        "reed_id": str(world.reed.pk),
        "by": str(world.student),
    }
    assert row.items() >= wanted.items()
    limit = world.version.sheet.limit_for("tie_length", 45.0)
    limits = [str(one) for one in (limit.low, limit.aim, limit.high)]
    assert [row["low_limit"], row["aim"], row["high_limit"]] == limits
    assert row["measured_on"] == world.number.at.astimezone(world.studio.zone).isoformat()


def test_limits_are_those_of_the_players_own_instrument(world):
    Offset.objects.create(studio=world.studio, student=world.student, quantity="tie_length", delta=-0.5)
    out = bundle(world.student)
    (row,) = [row for row in out.table("numbers") if row["quantity"] == "tie_length"]
    limit = world.version.sheet.limit_for("tie_length", 45.0)
    assert float(row["aim"]) == limit.aim - 0.5
    assert out.text("csv/offsets.csv").splitlines()[1].split(",")[2:4] == ["tie_length", "-0.5"]


def test_what_the_studio_measures_besides_goes_out_with_its_unit(world):
    out = bundle(world.student)
    (row,) = [row for row in out.table("numbers") if row["quantity"] == world.own.key]
    assert (row["value"], row["unit"]) == ("45.0", "°")
    (told,) = [row for row in out.table("quantities") if row["id"] == world.own.key]
    assert (told["name"], told["unit"], told["is_own"]) == ("angle of the corners", "°", "true")


def test_a_word_that_was_noted_is_in_its_own_table(world):
    (row,) = bundle(world.student).table("noted")
    assert (row["quantity"], row["value"], row["method"]) == ("airtight", "no", "eye")


def test_a_finding_is_told_as_it_was_shown(world):
    (row,) = bundle(world.student).table("findings")
    assert (row["outcome"], row["said"], row["value"], row["round_id"]) == (
        "within",
        "Within.",
        "72.4",
        str(world.answered.pk),
    )


def test_photos_and_recordings_lie_where_their_tables_say(world):
    out = bundle(world.student)
    told = [row["file"] for name in ("photos", "takes", "voices") for row in out.table(name)]
    shown = [row[kind] for row in out.table("demonstrations") for kind in ("photo", "sound")]
    assert len(told) == 6
    files = {
        name for name in out.names if name.split("/")[0] in ("photos", "takes", "voices", "demonstrations")
    }
    assert files == {*told, *shown}
    photo = next(row for row in out.table("photos") if row["id"] == str(world.photo.pk))
    assert out.zip.read(photo["file"]) == Path(world.photo.upright.path).read_bytes()
    assert out.zip.getinfo(photo["file"]).compress_type == zipfile.ZIP_STORED


def test_without_pictures_there_are_their_tables_and_no_file(world):
    out = bundle(world.student, with_pictures=False)
    assert not [name for name in out.names if name.startswith(FOLDERS)]
    assert {row["file"] for row in out.table("photos")} == {""}
    assert "were left out" in out.text("README.txt")


def test_notes_are_web_annotations_that_name_the_copy(world):
    """W3C 'Web Annotation Data Model' (2017)."""
    page = bundle(world.student).json("marks.json")
    assert page["type"] == "AnnotationPage"
    drawn, span = sorted(page["items"], key=lambda item: item["target"]["selector"]["type"], reverse=True)
    check_annotation(drawn)
    check_lifecycle(span)
    assert is_iri(span["target"]["source"])
    copies = {item["target"]["state"]["cached"] for item in page["items"]}
    owner, number = world.student.pk, world.reed.number
    assert copies == {
        f"photos/student-{owner}/reed-{number}/photo-{world.photo.pk}.jpg",
        f"takes/student-{owner}/reed-{number}/take-{world.take.pk}.wav",
    }
    without = bundle(world.student, with_pictures=False).json("marks.json")
    assert ["state" in item["target"] for item in without["items"]] == [False, False]


def test_a_draft_is_its_students_alone(world):
    rounds = {row["id"]: row["sent_at"] for row in bundle(world.student).table("rounds")}
    assert rounds[str(world.draft.pk)] == ""
    assert str(world.draft.pk) not in {row["id"] for row in bundle(world.teacher).table("rounds")}


def test_only_a_teacher_takes_away_their_usual_words(world):
    assert [row["words"] for row in bundle(world.teacher).table("phrases")] == ["Rest it."]
    assert bundle(world.teacher, world.student).table("phrases") == []
    assert bundle(world.student).table("phrases") == []


# --- what is written in it ------------------------------------------------------------------------


def test_no_cell_is_run_by_a_spreadsheet_and_each_is_found_again(world):
    nasty = ["=cmd|' /C calc'!A0", "+1", "-2", "@SUM(A1)", "\t=1", "'=1", 'a "quoted", b\r\n=c', "Ærø, ±°"]
    for text in nasty:
        world.cane.pk, world.cane.label = None, text
        world.cane.save()
    out = bundle(world.student)
    assert [row["label"] for row in out.table("cane")][1:] == nasty
    raw = out.text("csv/cane.csv")
    assert not re.search(r'(?:^|,)"?[=+\-@\t]', raw.replace("\r\n=c", ""), re.MULTILINE)
    assert [row["label"] for row in out.json("json/cane.json")][1:] == nasty


def test_a_negative_number_is_a_number_still(world):
    measure(world.reed, "thread_past_staple", -0.5)
    assert ",-0.5,0.2,mm," in bundle(world.student).text("csv/numbers.csv")


def test_a_file_that_is_gone_is_named_and_the_rest_goes_out(world):
    default_storage.delete(world.photo.upright.name)
    out = bundle(world.student)
    (gone,) = [row["file"] for row in out.table("photos") if row["id"] == str(world.photo.pk)]
    assert gone not in out.names
    assert out.text("README.txt").rstrip().endswith(f"- {gone}")


def test_more_than_can_be_fetched_is_refused_with_a_sentence(world, monkeypatch):
    monkeypatch.setattr(bundling, "MOST_BYTES", 10)
    with pytest.raises(NotPossible, match="one term at a time"):
        bundle(world.student)


def test_nothing_that_opens_something_goes_out(world):
    data = bundle(world.teacher).everything()
    for secret in (world.invitation.token, world.link.token, world.calendar):
        assert secret.encode() not in data
    assert b"password" not in data
    assert world.student.person.username.encode() not in data


def test_an_empty_studio_is_an_export_too(stranger, tmp_path):
    from frictionless import validate

    out = bundle(stranger)
    out.zip.extractall(tmp_path)
    assert validate(str(tmp_path / "datapackage.json")).valid
    assert out.table("reeds") == []
    assert json.loads(out.text("marks.json"))["items"] == []
    assert unguarded(out.table("people")[0]["name"]) == str(stranger)
