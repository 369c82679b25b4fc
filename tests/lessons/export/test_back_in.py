"""What went out comes back in: an export's tables, brought in as a list of reeds, give the same numbers."""

from __future__ import annotations

import datetime as dt

import pytest

from lessons.log.actions import write
from lessons.log.choices import LEFT_OUT
from lessons.log.table.existing import Existing
from reeds.numbers.words import Stage
from reeds.reed.models.measurement import Measurement
from reeds.sheet.actions.own import Described, add_own
from tests import factories as make
from tests.lessons.export.reading import bundle
from tests.lessons.log.lists import ALL, choose, found, upload

ON = dt.datetime(2026, 3, 4, 9, 30, 15, 123456, tzinfo=dt.UTC)
NASTY = ["=a bag", "'-a bag", '+ and, "quoted"', "plain"]


@pytest.fixture
def own(teacher):
    angle = Described(name="angle of the corners", stage=Stage.TIED, unit="°", low=-5.0, high=90.0, u=2.0)
    return add_own(teacher, angle)


@pytest.fixture
def reeds(student, own):
    """Four reeds with numbers of all kinds, and words that a spreadsheet would run."""
    version = make.VersionFactory(pattern__studio=student.studio, pattern__name="Short scrape")
    made = []
    for label in NASTY:
        cane = make.CaneFactory(owner=student, label=label)
        made.append(make.ReedFactory(owner=student, version=version, cane=cane, made_at=ON, shape=label))
    told = [
        ("tie_length", 72.4, 0.2, "ruler", "dry"),
        ("tie_length", 72.35, 0.05, "caliper", "wet"),
        ("thread_past_staple", -0.5, 0.2, "ruler", "unknown"),
        ("gouge", 0.58, 0.01, "dial", "dry"),
        (own.key, -1.5, 2.0, own.method, "unknown"),
        ("tube_diameter", 10.1 + 0.2, 0.123456789, "caliper", "dry"),
        ("cane_beyond_thread", 25.123, 0.31, "photo", "unknown"),
        ("tie_length", 72.21, 0.27, "photo", "unknown"),
        ("a4_cents", -4.5, 1.25, "recording", "unknown"),
    ]
    for place, (key, value, u, method, moisture) in enumerate(told):
        read = {"quantity": key, "value": value, "u": u, "method": method, "moisture": moisture}
        of = own if key == own.key else None
        note(made[place % 3], own=of, at=ON + dt.timedelta(hours=place), **read)
    note(made[0], quantity="airtight", word="no", method="eye")
    return made


def note(reed, **given):
    told = {"stage": "tied", "by": reed.owner, "at": ON}
    return Measurement.objects.create(studio=reed.studio, reed=reed, **told | given)


def numbers_of(owner):
    columns = ("reed__number", "quantity", "value", "u", "word", "method", "moisture", "at")
    return sorted(Measurement.objects.filter(reed__owner=owner).values_list(*columns), key=str)


def facts_of(owner):
    columns = (
        "number",
        "made_at",
        "stage",
        "shape",
        "cane__label",
        "staple_length",
        "version__pattern__name",
    )
    return sorted(owner.reeds.values_list(*columns))


def bring_in(by, out, table, *, as_reeds_of, existing=Existing.REFUSE):
    """Bring one table of an export in, as the reeds of somebody else."""
    log = upload(by, out.zip.read(f"csv/{table}.csv"), student=as_reeds_of)
    student = out.table(table) and list(out.table(table)[0]).index("student")
    choose(log, columns={**log.chosen.columns, student: LEFT_OUT}, existing=existing)
    assert found(log).wrong == []
    return write.bring_in(log, ALL).made


def test_an_export_imports_back_to_the_same_numbers(teacher, student, other_student, reeds):
    out = bundle(student)
    made = bring_in(teacher, out, "reeds", as_reeds_of=other_student)
    assert made["reeds"] == len(NASTY)
    assert facts_of(other_student) == facts_of(student)
    made = bring_in(teacher, out, "numbers", as_reeds_of=other_student, existing=Existing.ADD)
    assert made["numbers"] == 9
    assert bring_in(teacher, out, "noted", as_reeds_of=other_student, existing=Existing.ADD)["numbers"] == 1
    assert numbers_of(other_student) == numbers_of(student)


def test_what_came_in_goes_out_as_before(teacher, student, other_student, reeds):
    """The second export says what the first did, but for whose it is and the rows' own numbers."""
    out = bundle(student)
    for table in ("reeds", "numbers", "noted"):
        how = Existing.REFUSE if table == "reeds" else Existing.ADD
        bring_in(teacher, out, table, as_reeds_of=other_student, existing=how)
    again = bundle(other_student)
    for table in ("numbers", "noted"):
        assert rows_of(again, table) == rows_of(out, table)


SAME = (
    *("reed", "quantity", "value", "u", "method", "moisture", "measured_on"),
    *("low_limit", "aim", "high_limit"),
)


def rows_of(out, table):
    return sorted(tuple(row.get(name, "") for name in SAME) for row in out.table(table))


NOTED = {"student", "reed", "quantity", "value", "method", "moisture", "measured_on"}


@pytest.mark.parametrize(
    ("table", "taken"),
    [
        (
            "numbers",
            {"student", "reed", "quantity", "value", "u", "unit", "method", "moisture", "measured_on"},
        ),
        ("noted", {"student", "reed", "quantity", "value", "method", "moisture", "measured_on"}),
        (
            "reeds",
            {"student", "reed", "made_on", "stage", "sheet", "cane", "shape", "staple", "feel"}
            | {"nominal_staple_length"},
        ),
    ],
)
def test_no_column_is_taken_for_something_else(student, reeds, table, taken):
    log = upload(student, bundle(student).zip.read(f"csv/{table}.csv"))
    found = {log.headings[place]: key for place, key in log.chosen.columns.items()}
    assert found == {name: name for name in taken}
