import csv
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.services.csv_cells import csv_lines, plain_cell, safe_cell


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        ("-2", "-2"),
        (-0.5, "-0.5"),
        ("+41", "+41"),
        ("-2+3", "'-2+3"),
        ("+cmd", "'+cmd"),
        ("\t=1", "'\t=1"),
        ("plain", "plain"),
        (None, ""),
    ],
)
def test_safe_cell(value: object, cell: str) -> None:
    assert safe_cell(value) == cell


@given(st.lists(st.text(alphabet="'=+-@\t\r\n,\"1a", max_size=6), min_size=1, max_size=4))
def test_what_was_written_is_read_back(cells: list[str]) -> None:
    text = "".join(csv_lines(["x"] * len(cells), [cells]))
    header, row = csv.reader(StringIO(text.removeprefix("\ufeff"), newline=""))
    assert header == ["x"] * len(cells)
    assert [plain_cell(cell) for cell in row] == cells


@given(st.text(alphabet="'=+-@1a", max_size=6))
def test_no_cell_begins_as_a_formula(text: str) -> None:
    cell = safe_cell(text)
    assert not cell.startswith(("=", "@"))
    assert not cell.startswith(("+", "-")) or cell[1:].isdigit()
