"""RFC 4180, section 2: the seven definitions of the CSV format, each with the example printed there."""

import pytest

from lessons.log.table.rows import TableRefused
from tests.lessons.log.lists import rows_of

TWO = [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]


@pytest.mark.parametrize(
    ("definition", "text", "rows"),
    [
        (1, "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", TWO),
        (2, "aaa,bbb,ccc\r\nzzz,yyy,xxx", TWO),
        (
            3,
            "field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
            [("field_name", "field_name", "field_name"), *TWO],
        ),
        (5, '"aaa","bbb","ccc"\r\nzzz,yyy,xxx', TWO),
        (6, '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [("aaa", "b\r\nbb", "ccc"), TWO[1]]),
        (7, '"aaa","b""bb","ccc"\r\nzzz,yyy,xxx', [("aaa", 'b"bb', "ccc"), TWO[1]]),
    ],
)
def test_the_examples_of_the_definitions(definition, text, rows):
    assert rows_of(text.encode()) == rows


def test_definition_4_spaces_are_part_of_a_field():
    """Those inside are kept; those at its ends say nothing in a list of reeds, and are taken off."""
    assert rows_of(b"aaa,bbb,ccc\r\nz  z, yyy ,xxx") == [("aaa", "bbb", "ccc"), ("z  z", "yyy", "xxx")]


def test_definition_4_rows_of_other_lengths_are_told_apart_and_not_shifted():
    assert rows_of(b"aaa,bbb,ccc\r\nzzz,yyy\r\na,b,c,d\r\n")[1:] == [("zzz", "yyy"), ("a", "b", "c", "d")]


def test_what_is_against_definition_5_is_refused():
    """A quotation mark inside a field that is quoted, and not doubled."""
    with pytest.raises(TableRefused, match="row 2"):
        rows_of(b'aaa,bbb\r\n"z"zz,yyy\r\n')
