"""A file's bytes become rows: every encoding and delimiter people save, and every file that is none."""

import contextlib
import datetime as dt
import io
import zipfile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.xml.constants import SHEET_MAIN_NS

from lessons.log.table import rows as bounds
from lessons.log.table.delimited import delimiter_of
from lessons.log.table.reading import read_table
from lessons.log.table.rows import TableRefused, keep_rows, kept_rows
from tests.lessons.log.lists import rows_of, said_of, workbook

ENCODINGS = {
    "utf-8": lambda text: text.encode(),
    "utf-8 with a mark": lambda text: text.encode("utf-8-sig"),
    "utf-16 le": lambda text: b"\xff\xfe" + text.encode("utf-16-le"),
    "utf-16 be": lambda text: b"\xfe\xff" + text.encode("utf-16-be"),
}
AT = dt.datetime.fromisoformat("2026-03-04T14:30")  # a workbook's moments have no zone
SIMPLE = "reed,note\r\n1,früh\r\n2,später\r\n"


def refused(data):
    with pytest.raises(TableRefused) as refusal:
        rows_of(data)
    return str(refusal.value)


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_the_same_rows_in_every_encoding(encoding):
    assert rows_of(ENCODINGS[encoding](SIMPLE)) == [("reed", "note"), ("1", "früh"), ("2", "später")]


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_without_a_mark_is_known_by_its_zeros(encoding):
    assert rows_of(SIMPLE.encode(encoding)) == rows_of(SIMPLE.encode())
    assert "UTF-16" in said_of(SIMPLE.encode(encoding))


def test_windows_1252_is_the_last_resort_and_is_said():
    data = SIMPLE.encode("cp1252")
    assert rows_of(data)[1] == ("1", "früh")
    assert "Windows-1252" in said_of(data)
    assert "Windows-1252" not in said_of(SIMPLE.encode())


@pytest.mark.parametrize("parted", [",", ";", "\t"])
def test_what_parts_the_cells_is_found_and_said(parted):
    data = f"reed{parted}tie length{parted}note\n1{parted}72.5{parted}\n2{parted}71{parted}a\n".encode()
    assert rows_of(data) == [("reed", "tie length", "note"), ("1", "72.5"), ("2", "71", "a")]
    names = {",": "commas", ";": "semicolons", "\t": "tabs"}
    assert f"parted by {names[parted]}" in said_of(data)


def test_decimal_commas_do_not_part_cells():
    assert delimiter_of("reed;tie length;overall\n1;72,5;70,5\n2;71,5;70\n") == ";"
    # where both would part every row alike, it is the rarer one
    assert delimiter_of("tie, mm;tip, mm\n72,5;2,5\n71,5;2,0\n") == ";"


def test_a_row_too_long_for_its_headings_keeps_its_cells_so_that_it_can_be_refused():
    assert rows_of(b"reed,tie length\n1,72,5\n")[1] == ("1", "72", "5")


def test_a_spreadsheets_own_first_line_names_the_delimiter():
    assert rows_of(b"sep=;\r\na,b;c\r\n1;2\r\n") == [("a,b", "c"), ("1", "2")]


def test_one_column_is_a_table_and_is_said():
    assert rows_of(b"reed\n1\n2\n") == [("reed",), ("1",), ("2",)]
    assert "one column only" in said_of(b"reed\n1\n")


def test_rows_keep_the_numbers_a_spreadsheet_gives_them():
    table = read_table(b'\nreed,note\n\n1,"two\nlines"\n,,\n2,x\n')
    assert [row.number for row in table.rows] == [4, 6]


@pytest.mark.parametrize(
    ("data", "sentence"),
    {
        "empty": (b"", "This file is empty."),
        "blank": (b" \r\n\t\r\n", "This file is empty."),
        "only commas": (b",,,\n,,\n", "no row in this file that names the columns"),
        "headings alone": (b"reed,made on\n", "headings and no row below"),
        "marks that do not pair": (b'reed,note\n1,"open\n2,x\n', "quotation marks of row 2"),
        "text after a mark": (b'reed,note\n1,"a"b\n', "quotation marks of row 2"),
        "a picture": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "no table of text"),
        "broken utf-16": (b"\xff\xfe\x41\x00\x42", "says that it is UTF-16"),
        "broken utf-8 with a mark": (b"\xef\xbb\xbfreed\n\xff\n", "says that it is UTF-8"),
        "neither utf-8 nor 1252": (b"reed\n\x81\x8d\n", "no table of text"),
        "an older workbook": (
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 500,
            "older workbook, or one with a password",
        ),
        "a zip of something": (b"PK\x03\x04" + b"\0" * 40, "cannot be read"),
    }.values(),
)
def test_what_is_no_list_is_answered_with_a_sentence(data, sentence):
    assert sentence in refused(data)


def test_a_list_of_more_rows_or_columns_or_cells_than_are_read_is_refused(monkeypatch):
    assert "more than 400 columns" in refused(",".join(f"c{n}" for n in range(401)).encode() + b"\n1\n")
    assert "more than 50000 rows" in refused(b"reed\n" + b"1\n" * 50_001)
    assert len(rows_of(b"reed\n" + b"1\n" * 50_000)) == 50_001
    monkeypatch.setattr(bounds, "MAX_CELLS", 5)
    assert "more than 5 cells" in refused(b"a,b,c\n1,2,3\n4,5,6\n")
    assert "Row 2 holds a cell of more than 2000" in refused(b"reed\n" + b"x" * 2001 + b"\n")
    monkeypatch.setattr(bounds, "MAX_CELLS", 10)
    monkeypatch.setattr(bounds, "MAX_TEXT", 10)
    assert "more text than a list of reeds" in refused(b"a,b\n12345,678910\n")
    assert "larger than 12 MB" in refused(b"x" * (12 * 1024 * 1024 + 1))


def test_400_columns_are_read():
    data = ",".join(f"c{n}" for n in range(400)) + "\n" + ",".join(["1"] * 400) + "\n"
    assert [len(row) for row in rows_of(data.encode())] == [400, 400]


# --- workbooks ---


def test_a_workbooks_numbers_days_and_words_become_text_as_one_would_type_it():
    data = workbook(
        (
            "Log",
            [
                ["reed", "made on", "tie", "ok", "at"],
                [7, dt.date(2026, 3, 4), 72.0, True, AT],
            ],
        )
    )
    assert rows_of(data)[1] == ("7", "2026-03-04", "72", "yes", "2026-03-04 14:30")


def test_the_first_sheet_that_is_not_empty_is_read_and_said():
    data = workbook(("Cover", []), ("Reeds", [["reed"], [1]]), ("Other", [["x"], [2]]))
    assert rows_of(data) == [("reed",), ("1",)]
    assert "Of its 3 sheets “Reeds” was read" in said_of(data)


def test_a_formula_is_not_computed():
    data = workbook(("Log", [["reed", "tie length"], [1, "=70+2"]]))
    assert rows_of(data) == [("reed", "tie length"), ("1",)]
    assert "formulas without their results" in said_of(data)
    assert "formulas" not in said_of(workbook(("Log", [["reed"], [1]])))


def test_what_a_formula_gave_when_it_was_saved_is_read():
    body = SHEET_OF % ('<c r="A1" t="str"><v>reed</v></c>', '<c r="A2"><f>70+2</f><v>72</v></c>')
    data = replaced(workbook(("Log", [["reed"], [1]])), SHEET, body.encode())
    assert rows_of(data) == [("reed",), ("72",)]
    assert "formulas" not in said_of(data)


def test_a_workbook_of_401_columns_and_an_empty_one_are_refused():
    assert "more than 400 columns" in refused(workbook(("Wide", [[f"c{n}" for n in range(401)], [1]])))
    assert "Every sheet of this workbook is empty" in refused(workbook(("A", []), ("B", [])))


def replaced(data, name, content):
    """Return the archive with one part's content changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            new.writestr(part, content if part == name else old.read(part))
    return out.getvalue()


SHEET = "xl/worksheets/sheet1.xml"
SHEET_OF = (
    f'<worksheet xmlns="{SHEET_MAIN_NS}"><sheetData>'
    '<row r="1">%s</row><row r="2">%s</row></sheetData></worksheet>'
)


def test_a_workbook_that_swells_is_refused_before_it_is_unpacked():
    book = workbook(("Log", [["reed"], [1]]))
    swollen = replaced(book, SHEET, b" " * (101 * 1024 * 1024))
    assert len(swollen) < 1024 * 1024
    assert "far more than a list of reeds" in refused(swollen)


def test_entities_that_multiply_are_refused():
    laughs = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">' + b"".join(
        f'<!ENTITY {chr(98 + n)} "{f"&{chr(97 + n)};" * 10}">'.encode() for n in range(9)
    )
    body = laughs + b"]><worksheet><sheetData><row><c><v>&j;</v></c></row></sheetData></worksheet>"
    assert "cannot be read" in refused(replaced(workbook(("Log", [["reed"], [1]])), SHEET, body))


def test_a_sheet_that_claims_a_row_beyond_all_rows_is_refused():
    body = (SHEET_OF % ("", '<c r="A1"><v>1</v></c>')).replace('r="2"', 'r="99999999999"')
    assert "more than 50000 rows" in refused(
        replaced(workbook(("Log", [["reed"], [1]])), SHEET, body.encode())
    )


def test_half_a_workbook_is_refused():
    book = workbook(("Log", [["reed"], [1]]))
    assert "cannot be read" in refused(book[: len(book) // 2])


def test_another_zip_is_no_workbook():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("content.xml", "<x/>")
    assert "no XLSX workbook" in refused(out.getvalue())


# --- properties ---

# a cell that is not trimmed, and no character that no text file has
CELL = st.text(st.characters(blacklist_categories=("Cs", "Cc"), whitelist_characters="\n"), max_size=12).map(
    str.strip
)
TABLES = st.lists(st.lists(CELL, min_size=3, max_size=3), min_size=2, max_size=6).filter(
    lambda rows: all(any(row) for row in rows) and all(rows[0])
)


def written(rows, delimiter):
    quoted = [['"' + cell.replace('"', '""') + '"' for cell in row] for row in rows]
    return "".join(delimiter.join(row) + "\r\n" for row in quoted)


def trimmed(rows):
    return [tuple(row[: max((n + 1 for n, cell in enumerate(row) if cell), default=0)]) for row in rows]


@settings(max_examples=150)
@given(TABLES, st.sampled_from([",", ";", "\t"]), st.sampled_from(sorted(ENCODINGS)))
def test_a_table_written_in_any_dialect_and_encoding_comes_back(rows, delimiter, encoding):
    assert rows_of(ENCODINGS[encoding](written(rows, delimiter))) == trimmed(rows)


@given(TABLES)
def test_rows_that_are_kept_come_back(rows):
    table = read_table(written(rows, ",").encode())
    kept = io.StringIO(newline="")
    count = keep_rows(table, kept)
    kept.seek(0)
    found = list(kept_rows(kept))
    assert count == len(found) == len(rows) - 1
    assert [row.cells for row in found] == trimmed(rows)[1:]


@settings(max_examples=300)
@given(st.binary(max_size=400))
def test_any_bytes_are_rows_or_a_sentence(data):
    with contextlib.suppress(TableRefused):
        assert rows_of(data)
