"""The one table of accuracy, and that the page 'How sure is it?' cannot go stale without a word."""

from __future__ import annotations

import pytest

from reeds.timeline import tried
from tests.accuracy import table
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
    assert lines[2].split()[3:9] == ["40", "+1e-04", "3e-04", "1.500", "cents", "95%"]
    assert "named" in lines[1]
    assert lines[2].endswith("reported")
    together = table.json.loads((table.folder() / "table.json").read_text())
    assert [row["source"] for row in together] == ["raytraced", "rooms", "sound"]


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
