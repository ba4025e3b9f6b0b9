import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.services.lists.columns import Column, guess_columns, read_as, unit_of
from studio.services.lists.fates import RefusedError
from studio.services.lists.table import read_table
from studio.services.lists.values import METRES, MG, MM, Reading


@pytest.mark.parametrize(
    ("cell", "decimal", "number"),
    [
        ("12.50", ".", "12.50"),
        ("12,50", ".", "12.50"),
        ("12,50 €", ".", "12.50"),
        ("€ 12.50", ",", "12.50"),
        ("1.250", ",", "1250"),
        ("1.250", ".", "1.250"),
        ("1,250", ".", "1250"),
        ("0,250", ".", "0.250"),
        ("1,250.5", ",", "1250.5"),
        ("1.250,5", ".", "1250.5"),
        ("1 250,5", ".", "1250.5"),
        ("1'250", ".", "1250"),
        ("1,250,000", ",", "1250000"),
        ("−3", ".", "-3"),
        (".5", ".", "0.5"),
        ("5.", ".", "5.0"),
    ],
)
def test_numbers(cell: str, decimal: str, number: str) -> None:
    assert Reading(decimal).number(cell, "price")[0] == Decimal(number)


@pytest.mark.parametrize("cell", ["", "a few", "3-4", "1,25,0", "1.2.3", "3 mm 4", "½", "1e5"])
def test_what_is_no_number(cell: str) -> None:
    with pytest.raises(RefusedError, match="not_a_number"):
        Reading().number(cell, "price")


@given(st.decimals(0, 10**6, places=3), st.sampled_from(".,"))
def test_saved_figures_are_read_as_they_were(number: Decimal, decimal: str) -> None:
    """But for three decimals behind a point, where a comma is said to be the decimal sign."""
    text = f"{number.normalize():f}"
    if decimal == "." or len(text.partition(".")[2]) != 3:
        assert Reading(decimal).number(text, "mass")[0] == number


@pytest.mark.parametrize(
    ("cell", "units", "header", "steps"),
    [
        ("500", MM, "", 500),
        ("50 cm", MM, "", 500),
        ("20", MM, "in", 508),
        ('20"', MM, "", 508),
        ("1.5", MG, "kg", 1_500_000),
        ("1 lb", MG, "", 453_592),
        ("0.001", MG, "", 1),
        ("2 ft", METRES, "", 610),
        ("1.25", METRES, "", 1250),
    ],
)
def test_amounts_in_units(cell: str, units: dict[str, int], header: str, steps: int) -> None:
    """1 in = 25.4 mm, 1 lb = 453.59237 g, 1 ft = 304.8 mm: international yard and pound, 1959."""
    assert Reading(units={"x": header}).steps(cell, "x", units, 0, 10**6) == steps


@pytest.mark.parametrize(
    ("cell", "code"),
    [("500.5", "too_fine"), ("0", "beyond"), ("6 m", "beyond"), ("5 kg", "unit_unknown")],
)
def test_amounts_that_are_none(cell: str, code: str) -> None:
    with pytest.raises(RefusedError, match=code):
        Reading().steps(cell, "length", MM, 1, 5000)


MAY_4 = dt.date(2026, 5, 4)


@pytest.mark.parametrize(
    "cell",
    [
        "2026-05-04", "2026/5/4", "4.5.2026", "04.05.26", "4/5/2026", "04-05-2026",
        "2026-05-04 09:30:00", "2026-05-04T09:30", "4 May 2026", "4 May 26", "May 4, 2026",
        "04-May-2026",
    ],
)  # fmt: skip
def test_days(cell: str) -> None:
    assert Reading().date(cell, "received") == MAY_4


def test_order_of_day_and_month() -> None:
    month_first = Reading(day_first=False)
    assert month_first.date("5/4/2026", "received") == MAY_4
    assert month_first.date("14/5/2026", "received") == dt.date(2026, 5, 14)
    assert month_first.date("4.5.2026", "received") == MAY_4  # with dots the day is first


@pytest.mark.parametrize("cell", ["", "soon", "2026-13-04", "31.2.2026", "5/2026", "4 4 May"])
def test_what_is_no_day(cell: str) -> None:
    with pytest.raises(RefusedError, match="not_a_date"):
        Reading().date(cell, "received")


COLUMNS = [
    Column("colour", "colour", ("color", "name")),
    Column("thickness", "thickness (mm)", holds="number"),
    Column("mass", "mass (g)", ("weight",), holds="number"),
    Column("received", "received", ("date",), holds="date"),
]


def test_headers_are_guessed() -> None:
    headers = ["NAME", "Weight, kg", "Thickness", "Color", "date"]
    assert guess_columns(headers, COLUMNS) == {
        "colour": 0,
        "mass": 1,
        "thickness": 2,
        "received": 4,
    }
    assert unit_of("Weight, kg") == "kg"


@pytest.mark.parametrize(
    ("text", "decimal", "day_first"),
    [
        ("colour,mass,received\nmoss,1.25,2026-05-04", ".", True),
        ('colour,mass,received\nmoss,"1,25",14/05/2026', ",", True),
        ("colour;mass;received\nmoss;1,250;05/14/2026", ".", False),
        ("colour;mass;received\nmoss;1,5;05/04/2026\nfern;1,250;", ",", True),
    ],
)
def test_decimal_sign_and_order_of_dates_are_guessed(
    text: str, decimal: str, day_first: bool
) -> None:
    table = read_table(text.encode())
    found = read_as(table, COLUMNS, guess_columns(table.headers, COLUMNS))
    assert (found.decimal, found.day_first) == (decimal, day_first)
