"""The one table of accuracy, and that the page 'How sure is it?' cannot go stale without a word."""

from __future__ import annotations

import pytest

from reeds.timeline import tried
from tests.accuracy import table

ROW = {"n": 9, "bias": 0.01, "median": 0.1, "p95": 0.3, "held": 0.95, "unit": "mm", "refused": 1, "met": True}


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("DATA_DIR", str(tmp_path))


def test_rows_are_kept_by_condition_and_proposals_stand_first(capsys):
    table.keep("photos", {"condition": "card, landmarks exact", **ROW})
    table.keep("raytraced", {"condition": "card, proposed", **ROW})
    table.keep("raytraced", {"condition": "card, proposed", **ROW, "n": 20})
    assert table.main() == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[1].split()[:4] == ["ray", "card,", "proposed", "20"]
    assert "landmarks exact" in lines[2]
    assert (table.folder() / "table.json").exists()


def test_a_bound_that_is_not_met_fails(capsys):
    table.keep("raytraced", {"condition": "card, proposed", **ROW, "met": False})
    assert table.main() == 1
    assert "NOT MET" in capsys.readouterr().out


def test_what_the_page_says_better_than_it_comes_out_fails(capsys):
    one = tried.PHOTOS[0]
    worse = {**ROW, "n": one.pictures, "median": 2 * one.typical + 0.1, "p95": one.most}
    table.keep("raytraced", {"condition": one.condition, **worse})
    assert table.main() == 1
    assert f"NO LONGER TRUE {one.condition}" in capsys.readouterr().out


def test_what_the_page_says_is_of_conditions_that_are_measured():
    text = (table.Path(table.__file__).parent / "raytraced.py").read_text()
    for one in tried.PHOTOS:
        assert one.condition.split(",")[0] in text, one.condition
        assert 0 < one.typical <= one.most
        assert 0 <= one.held <= 1
    assert all(0 < one.right <= one.takes for one in tried.TAKES)
