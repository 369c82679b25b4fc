"""What is written down is true: the guide's drawing, the names it says, the limits it promises."""

from __future__ import annotations

import re

import pytest

from tests.drawing_of_layers import GUIDE, ROOT, drawing, imports, places, set_in

TEXTS = {name: (ROOT / name).read_text() for name in ("README.md", "DEVELOPERS.md")}


def test_the_drawing_in_the_guide_is_what_the_contracts_and_the_code_say_now():
    text = GUIDE.read_text()
    assert set_in(text) == text, "python -m tests.drawing_of_layers draws it anew"


def test_the_drawing_shows_real_imports_and_no_way_back_up():
    rows = places()
    order = [row.module for row in rows]
    used = imports(rows)
    assert ("reeds.reed", "reeds.checks") in used
    assert all(order.index(one) < order.index(other) for one, other in used)
    assert drawing().count("■") == len(rows) > 15


def files_named(text: str) -> list[str]:
    """Whole paths of our files that a text names, as `reeds/checks/next_steps.py`."""
    tops = "studio|reeds|lessons|templates|static|tests"
    return re.findall(rf"(?<![\w/.])((?:{tops})/[\w/]+\.(?:py|js|css|html|jpg))", text)


@pytest.mark.parametrize("name", TEXTS)
def test_every_file_that_is_named_is_there(name):
    prose = re.sub(r"^```.*?^```$", "", TEXTS[name], flags=re.MULTILINE | re.DOTALL)
    named = files_named(prose)
    assert named
    examples = {found for found in named if f"\nNew `{found}`:\n" in prose}
    assert [one for one in named if one not in examples and not (ROOT / one).exists()] == []


def test_that_rule_finds_paths():
    assert files_named("in `reeds/checks/x.py`, a/reeds/y.py and (static/css/tokens.css)") == [
        "reeds/checks/x.py",
        "static/css/tokens.css",
    ]


def test_short_paths_of_the_ways_are_there_too():
    part = TEXTS["DEVELOPERS.md"].split("## Ways through the code")[1].split("\n## ")[0]
    short = set(re.findall(r"`([\w/]+\.py)`", part)) - set(files_named(part))
    assert len(short) > 20
    there = [file.as_posix() for app in ("studio", "reeds", "lessons") for file in (ROOT / app).rglob("*.py")]
    assert sorted(one for one in short if not any(file.endswith(f"/{one}") for file in there)) == []


def test_the_guide_can_be_read_at_one_sitting():
    """But for the table of ASVS, which one looks things up in."""
    read, table = TEXTS["DEVELOPERS.md"].split("\n## Held against ASVS")
    assert "\n## " not in table
    assert len(read.splitlines()) <= 560


COLOUR = re.compile(r"#[0-9a-f]{3,8}\b|\b(?:rgba?|hsla?|lab|lch|oklch|oklab)\(", re.IGNORECASE)


def test_colours_stand_in_the_tokens_alone():
    sheets = [file for file in (ROOT / "static/css").glob("*.css") if file.name != "tokens.css"]
    scripts = list((ROOT / "static/js").rglob("*.js"))
    assert len(sheets) > 5
    found = {file.name: COLOUR.findall(file.read_text()) for file in (*sheets, *scripts)}
    assert {name: colours for name, colours in found.items() if colours} == {}


def test_that_rule_sees_colours():
    assert COLOUR.findall("a { color: #fff; background: rgb(1 2 3) } b { color: var(--ink) }") == [
        "#fff",
        "rgb(",
    ]
