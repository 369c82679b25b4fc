"""The one table of accuracy, and that the page 'How sure is it?' cannot go stale without a word."""

from __future__ import annotations

from pathlib import Path

import pytest

from reeds.timeline import tried
from tests.accuracy import photos, raytraced, table
from tests.rooms.conditions import CONDITIONS
from tests.rooms.rows.table import ROWS

FOUND = {
    "n": 9,
    "bias": 0.01,
    "median": 0.1,
    "p95": 0.3,
    "held": 0.95,
    "unit": "mm",
    "refused": 1,
    "met": True,
}


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("DATA_DIR", str(tmp_path))


def test_rows_are_kept_by_condition_and_proposals_stand_first(capsys):
    table.keep("photos", {"condition": "card, landmarks exact", **FOUND})
    table.keep("raytraced", {"condition": "card, proposed", **FOUND})
    table.keep("raytraced", {"condition": "card, proposed", **FOUND, "n": 20})
    assert table.main() == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[1].split()[:4] == ["ray", "card,", "proposed", "20"]
    assert "landmarks exact" in lines[2]
    assert (table.folder() / "table.json").exists()


def test_a_bound_that_is_not_met_fails(capsys):
    table.keep("raytraced", {"condition": "card, proposed", **FOUND, "met": False})
    assert table.main() == 1
    assert "NOT MET" in capsys.readouterr().out


def test_what_the_page_says_better_than_it_comes_out_fails(capsys):
    one = tried.PHOTOS[0]
    worse = {**FOUND, "n": one.pictures, "median": 2 * one.typical + 0.1, "p95": one.most}
    table.keep("raytraced", {"condition": one.condition, **worse})
    assert table.main() == 1
    assert f"NO LONGER TRUE {one.condition}" in capsys.readouterr().out


def test_recordings_join_the_same_table_in_figures_or_in_words(capsys):
    table.keep("raytraced", {"condition": "card, proposed", **FOUND})
    table.keep(
        "rooms", {"condition": "moved: swapped", "n": 20, "right": 20, "reached": "named", "met": True}
    )
    figures = {"n": 40, "bias": 0.0001, "median": 0.0003, "p95": 1.5, "held": 0.95, "unit": "cents"}
    table.keep("sound", {"condition": "pitch: clean", **figures, "met": None})
    assert table.main() == 0
    lines = capsys.readouterr().out.splitlines()[1:]
    assert [line[:3] for line in lines] == ["ray", "roo", "sou"]
    assert lines[2].split()[3:10] == ["40", "+1e-04", "3e-04", "1.500", "cents", "95%", "(83-99)"]
    assert "named" in lines[1]
    assert lines[2].endswith("reported")
    together = table.json.loads((table.folder() / "table.json").read_text())
    assert [row["source"] for row in together] == ["raytraced", "rooms", "sound"]


def test_whether_a_doubt_is_too_wide_or_too_few_were_measured_is_seen():
    few, many = ({**FOUND, "held": 1.0, "n": n} for n in (17, 1000))
    assert table.of_all(few) == "(82-100)"
    assert table.of_all(many) == "(100-100)"


def test_what_was_counted_on_ray_traced_photos_stands_in_the_table_too(capsys):
    raytraced.keep(raytraced.Share("card, proposed staple_foot within 0.3 mm", 0.9, [True] * 9 + [False]))
    raytraced.keep(raytraced.Share("refused rightly: dark", 1.0, [True, False]))
    raytraced.keep(
        raytraced.Row("card, points of the axis (to compare)", held=None, errors=[2.0], doubts=[0.1])
    )
    raytraced.keep(raytraced.Row("nothing was measured"))
    assert table.main() == 1
    lines = capsys.readouterr().out.splitlines()[1:]
    assert [line.split()[-1] for line in lines] == ["met", "MET", "reported"]
    assert "9 of 10, must be 90%" in lines[0]
    assert "1 of 2" in lines[1]


def test_a_proposed_landmark_is_near_or_not_and_its_doubt_holds_or_not():
    end = raytraced.Landmark("card, proposed tip", "tip")
    end.add({"tip": 0.2}, {"tip": 0.15})
    end.add({"tip": -0.4}, {"tip": 0.15})
    end.add({}, {})
    assert end.near.good == [True, False, False]
    assert end.row.figures()["held"] == 0.5
    assert not end.near.met()
    assert not end.row.met()


def test_a_bias_beyond_its_bound_is_not_met():
    errors = [0.02, 0.08, 0.1, 0.06] * 25
    fine, biased = (
        photos.Row("drawn", 0.15, 0.45, bias=bound, errors=errors, u=[0.06] * 100, excused=("over",))
        for bound in (0.1, 0.05)
    )
    assert fine.result()[1]
    assert not biased.result()[1]


def test_every_module_that_keeps_rows_is_in_the_table():
    modules = Path(table.__file__).parent.glob("[a-z]*.py")
    keep = {m.stem for m in modules if "table.keep(" in m.read_text()}
    assert keep <= set(table.SOURCES)
    assert len(keep) >= 4


def test_takes_that_come_out_worse_than_the_page_says_fail(capsys):
    one = tried.TAKES[0]
    row = {"condition": one.condition, "n": one.takes, "met": True, "reached": ""}
    table.keep("rooms", {**row, "right": one.right})
    assert table.main() == 0
    table.keep("rooms", {**row, "right": one.right - round(0.1 * one.takes)})
    assert table.main() == 1
    assert f"NO LONGER TRUE {one.condition}" in capsys.readouterr().out


def test_what_the_page_says_is_of_conditions_that_are_measured():
    text = (table.Path(table.__file__).parent / "raytraced.py").read_text()
    for one in tried.PHOTOS:
        assert one.condition.split(",")[0] in text, one.condition
        assert 0 < one.typical <= one.most
        assert 0 <= one.held <= 1
    for take in tried.TAKES:
        row, condition = take.condition.split(": ")
        assert row in ROWS
        assert condition == "steps" or condition in CONDITIONS
        assert 0 < take.right <= take.takes
