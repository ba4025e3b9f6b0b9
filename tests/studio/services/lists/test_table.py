"""Files of every sort, as tables of text."""

from contextlib import suppress
from datetime import date, datetime
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from studio.services.csv_cells import csv_lines
from studio.services.lists.table import TableError, read_table

WORDS = "Glas;Stärke;Preis\r\nmoosgrün;3,2;12,50 €\r\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_encodings(encoding: str) -> None:
    table = read_table(WORDS.encode(encoding))
    assert table.headers == ("Glas", "Stärke", "Preis")
    assert table.rows[0].cells == ("moosgrün", "3,2", "12,50 €")


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiters_also_where_another_stands_in_cells(delimiter: str) -> None:
    text = f'colour{delimiter}note\n"moss, dark; thin|wide"{delimiter}x\n'
    assert read_table(text.encode()).rows[0].cells == ("moss, dark; thin|wide", "x")


MESS = (
    "Our shelf in May\r\n"
    "\r\n"
    "colour;colour; mm ;;note\r\n"
    'moss;fern;3,0;;"two\r\nlines ""quoted"""\r\n'
    ";;;;\r\n"
    "plum;;6\r\n"
    "a;b;c;d;e;f;g\r\n"
)


def test_mess_is_read_with_the_lines_of_the_file() -> None:
    table = read_table(MESS.encode())
    assert table.headers == ("colour", "colour", "mm", "", "note")
    assert [row.line for row in table.rows] == [4, 7, 8]
    assert table.rows[0].cells == ("moss", "fern", "3,0", "", 'two\r\nlines "quoted"')
    assert table.rows[1].cells == ("plum", "", "6", "", "")
    assert len(table.rows[2].cells) == 5


def test_workbook_of_which_the_first_sheet_is_empty() -> None:
    book, file = Workbook(), BytesIO()
    sheet = book.create_sheet("stock")
    sheet.append(["colour", "mm", "kg", "on", "at", "ok"])
    sheet.append(["moss", 3, 0.1 + 0.2, date(2026, 5, 4), datetime(2026, 5, 4, 9, 30), True])
    sheet.append(["fern", 1.234])
    book.save(file)

    table = read_table(file.getvalue())

    assert table.rows[0].cells == ("moss", "3", "0.3", "2026-05-04", "2026-05-04 09:30:00", "yes")
    # 1.234 alone could be a thousand and more where commas are the decimal sign.
    assert table.rows[1].cells[:2] == ("fern", "1.2340")


CELLS = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\u00a0"), max_size=9
).map(str.strip)


@given(st.lists(st.tuples(CELLS, CELLS), min_size=1, max_size=5))
def test_saved_list_is_read_as_it_was(rows: list[tuple[str, str]]) -> None:
    told = [row for row in rows if any(row)]
    raw = "".join(csv_lines(("colour", "note"), rows)).encode()
    if not told:
        with pytest.raises(TableError, match="no_rows"):
            read_table(raw)
        return
    assert [row.cells for row in read_table(raw).rows] == told


@given(st.binary(max_size=300))
def test_any_bytes_are_a_table_or_refused(raw: bytes) -> None:
    table = None
    with suppress(TableError):
        table = read_table(raw)
    if table is not None:
        assert all(len(row.cells) == len(table.headers) for row in table.rows)
