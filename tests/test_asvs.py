"""The guide's table of ASVS: each requirement of levels 1 and 2 once, and every test it names is there."""

from __future__ import annotations

import re

from tests.drawing_of_layers import GUIDE, ROOT

# the numbers of levels 1 and 2 of ASVS 5.0.0, section by section, as OWASP publishes them
NUMBERS = """
1.1: 1 2
1.2: 1 2 3 4 5 6 7 8 9
1.3: 1 2 3 4 5 6 7 8 9 10 11
1.4: 1 2 3
1.5: 1 2
2.1: 1 2 3
2.2: 1 2 3
2.3: 1 2 3 4
2.4: 1
3.2: 1 2
3.3: 1 2 3 4
3.4: 1 2 3 4 5 6
3.5: 1 2 3 4 5
3.7: 1 2
4.1: 1 2 3
4.2: 1
4.3: 1 2
4.4: 1 2 3 4
5.1: 1
5.2: 1 2 3
5.3: 1 2
5.4: 1 2 3
6.1: 1 2 3
6.2: 1 2 3 4 5 6 7 8 9 10 11 12
6.3: 1 2 3 4
6.4: 1 2 3 4
6.5: 1 2 3 4 5
6.6: 1 2 3
6.8: 1 2 3 4
7.1: 1 2 3
7.2: 1 2 3 4
7.3: 1 2
7.4: 1 2 3 4 5
7.5: 1 2
7.6: 1 2
8.1: 1 2
8.2: 1 2 3
8.3: 1
8.4: 1
9.1: 1 2 3
9.2: 1 2 3 4
10.1: 1 2
10.2: 1 2
10.3: 1 2 3 4
10.4: 1 2 3 4 5 6 7 8 9 10 11
10.5: 1 2 3 4 5
10.6: 1 2
10.7: 1 2 3
11.1: 1 2
11.2: 1 2 3
11.3: 1 2 3
11.4: 1 2 3 4
11.5: 1
11.6: 1
12.1: 1 2 3
12.2: 1 2
12.3: 1 2 3 4
13.1: 1
13.2: 1 2 3 4 5
13.3: 1 2
13.4: 1 2 3 4 5
14.1: 1 2
14.2: 1 2 3 4
14.3: 1 2 3
15.1: 1 2 3
15.2: 1 2 3
15.3: 1 2 3 4 5 6 7
16.1: 1
16.2: 1 2 3 4 5
16.3: 1 2 3 4
16.4: 1 2 3
16.5: 1 2 3
17.1: 1
17.2: 1 2 3 4
17.3: 1 2
"""
SECTION = "\n## Held against ASVS"
ROW = re.compile(r"^\| (\d+\.\d+\.\d+) \| (.+?) \| ((?:yes|partly|no)\b.*?) \| (.*) \|$", re.MULTILINE)
TEST = re.compile(r"`(tests/[\w/]+\.py)::(test_\w+)`")
RANGE = re.compile(r"(\d+\.\d+\.\d+)(?:-(\d+\.\d+\.\d+))?")


def numbers():
    rows = (line.split(": ") for line in NUMBERS.split("\n") if line)
    return [f"{section}.{last}" for section, lasts in rows for last in lasts.split()]


def section():
    text = GUIDE.read_text()
    return text[text.index(SECTION) :].split("\n## ")[1]


def left_out(text):
    """The numbers that do not apply: each alone, or first and last of a row, with the reason in brackets."""
    known, found = numbers(), []
    for first, last in RANGE.findall(text.partition("\nDo not apply")[2]):
        found += known[known.index(first) : known.index(last or first) + 1]
    return found


def test_every_requirement_stands_in_the_table_once():
    table = [number for number, *_rest in ROW.findall(section())]
    assert len(numbers()) == 253
    assert sorted([*table, *left_out(section())]) == sorted(numbers())


def test_each_row_names_a_test_that_is_there():
    rows = ROW.findall(section())
    assert len(rows) > 150
    missing = []
    for number, _asked, _met, tested in rows:
        named = TEST.findall(tested)
        assert named, number
        for file, name in named:
            path = ROOT / file
            if not path.exists() or not re.search(rf"^def {name}\(", path.read_text(), re.MULTILINE):
                missing.append((number, file, name))
    assert missing == []


def test_what_is_not_met_or_partly_says_why():
    said = {number: met for number, _asked, met, _tested in ROW.findall(section())}
    assert [number for number, met in said.items() if re.fullmatch(r"(?:no|partly)\W*", met)] == []


def test_those_rules_see_what_they_should():
    row = "| 1.2.3 | asked | partly: why | `tests/studio/test_x.py::test_it`, `tests/test_y.py::test_that` |"
    ((number, _asked, met, tested),) = ROW.findall(row)
    assert (number, met) == ("1.2.3", "partly: why")
    assert TEST.findall(tested) == [("tests/studio/test_x.py", "test_it"), ("tests/test_y.py", "test_that")]
    assert left_out("\nDo not apply: 4.4.1-4.4.4 (no such), 6.6.1 (none)") == [
        *("4.4.1", "4.4.2", "4.4.3", "4.4.4", "6.6.1")
    ]
