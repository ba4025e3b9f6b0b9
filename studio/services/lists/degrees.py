"""Cells that hold temperatures and rates, each in the unit that it, its column or its row names."""

from decimal import Decimal

from studio.services.lists.fates import RefusedError
from studio.services.lists.values import Reading
from studio.services.units import to_celsius

_NAMES = {"c": "C", "celsius": "C", "centigrade": "C", "f": "F", "fahrenheit": "F"}
_BEFORE = ("°", "º", "˚", "degrees", "degree", "degs", "deg", ".")
_AN_HOUR = ("/h", "/hr", "/hour", "perhour", "perhr", "ph", "h")
FULL_POWER = frozenset({"full", "full power"})
UNITS = "°C, °F"


def unit_named(words: str) -> str:
    """ "C" or "F" for what is written beside a temperature or a rate; empty for anything else.

    Parameters
    ----------
    words : in small letters, with or without a degree sign, "per hour" behind it or not

    Examples
    --------
    >>> [unit_named(words) for words in ("°c", "deg f", "°f/h", "celsius", "max", "k", "")]
    ['C', 'F', 'F', 'C', '', '', '']
    """
    bare = "".join(words.split())
    for end in _AN_HOUR:
        bare = bare.removesuffix(end) or bare
    for sign in _BEFORE:
        bare = bare.removeprefix(sign)
    return _NAMES.get(bare.strip("."), "")


def degrees(cell: str, column: str, reading: Reading, of_row: str = "") -> tuple[Decimal, str]:
    """A number of degrees as it is written, and its unit.

    The cell's own unit counts before that of its header and its row, which must not differ, and
    these before the one that was asked for.

    Parameters
    ----------
    of_row : "C", "F" or empty: what the row says of all of its temperatures

    Raises
    ------
    RefusedError
        "not_a_number", "unit_unknown", "units_differ", or "unit_missing" where nothing names one

    Examples
    --------
    >>> degrees("1480 °F", "peak", Reading(units={"peak": "°c"}))
    (Decimal('1480'), 'F')
    >>> degrees("804,5", "peak", Reading(",", temperature="C"))
    (Decimal('804.5'), 'C')
    >>> degrees("804", "peak", Reading())
    Traceback (most recent call last):
    studio.services.lists.fates.RefusedError: unit_missing
    """
    number, beside = reading.number(cell, column)
    if beside:
        own = unit_named(beside)
        if not own:
            raise RefusedError("unit_unknown", column, cell=cell, units=UNITS)
        return number, own
    of_header = unit_named(reading.units.get(column, ""))
    if of_header and of_row and of_header != of_row:
        raise RefusedError("units_differ", column, cell=cell)
    unit = of_header or of_row or reading.temperature
    if not unit:
        raise RefusedError("unit_missing", column, cell=cell)
    return number, unit


def temperature_c(
    cell: str, column: str, reading: Reading, of_row: str, least: float, most: float
) -> float:
    """A temperature in °C within limits in °C.

    Raises
    ------
    RefusedError
        as `degrees`, and "beyond" with all figures in the unit of the cell

    Examples
    --------
    >>> round(temperature_c("1480F", "peak", Reading(), "", 20, 950), 2)
    804.44
    >>> temperature_c("1480", "peak", Reading(), "C", 20, 950)
    Traceback (most recent call last):
    studio.services.lists.fates.RefusedError: beyond
    """
    number, unit = degrees(cell, column, reading, of_row)
    value_c = float(to_celsius(float(number), unit))
    require_within(value_c, number, unit, column, least, most)
    return value_c


def require_within(
    value_c: float, written: Decimal, unit: str, column: str, least: float, most: float
) -> None:
    """Raises `RefusedError` "beyond" for a temperature outside limits in °C, told in its own unit.

    Examples
    --------
    >>> require_within(804.0, Decimal(804), "C", "peak", 20.0, 950.0)
    """
    if not least - 1e-6 <= value_c <= most + 1e-6:
        low, high = (_in(limit, unit) for limit in (least, most))
        raise RefusedError(
            "beyond",
            column,
            there=f"{written.normalize():f}",
            least=low,
            most=high,
            unit=f"°{unit}",
        )


def _in(value_c: float, unit: str) -> str:
    return f"{value_c:g}" if unit == "C" else f"{value_c * 1.8 + 32:g}"
