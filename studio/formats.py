"""How numbers are written for a reader: temperatures in their unit, durations, holds.

Functions take core values (°C, °C per hour, seconds) and give text; nothing here reads text. A
number and its unit are joined by a no-break space, so that no line ends between them.
"""

from decimal import Decimal

from studio.services.stock import Rectangle
from studio.services.units import from_celsius, rate_from_celsius

MINUS = "−"
NO_BREAK = "\u00a0"
DEGREE = {"C": "°C", "F": "°F"}


def plain(text: str) -> str:
    """The same with ordinary spaces: for what is kept, searched or read by a machine."""
    return text.replace(NO_BREAK, " ")


def number(value: float, decimals: int = 0) -> str:
    """Text of a number with a true minus sign, without trailing zeros: 6.70 → 6.7, -0.0 → 0."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    if text in ("-0", ""):
        text = "0"
    return text.replace("-", MINUS)


def temperature(value_c: float, unit: str, decimals: int = 0) -> str:
    return f"{number(float(from_celsius(value_c, unit)), decimals)}{NO_BREAK}{DEGREE[unit]}"


def temperature_difference(delta_c: float, unit: str, decimals: int = 0) -> str:
    """A difference, signed: +2 °C. A difference of 10 °C is 18 °F, never 50."""
    text = number(float(rate_from_celsius(delta_c, unit)), decimals)
    sign = "+" if delta_c > 0 and text != "0" else ""
    return f"{sign}{text}{NO_BREAK}{DEGREE[unit]}"


def temperature_span(delta_c: float, unit: str, decimals: int = 0) -> str:
    """A difference without a sign, for how far apart things may lie: 1.5 °C."""
    return temperature_difference(abs(delta_c), unit, decimals).removeprefix("+")


def rate(value_c_per_h: float | None, unit: str, decimals: int = 0) -> str:
    if value_c_per_h is None:
        return "full power"
    text = number(float(rate_from_celsius(value_c_per_h, unit)), decimals)
    return f"{text}{NO_BREAK}{DEGREE[unit]}/h"


def duration(seconds: float) -> str:
    """16 h 05 · 38 min · 0 min, rounded to the minute."""
    minutes = round(abs(seconds) / 60)
    sign = MINUS if seconds < 0 and minutes else ""
    if minutes < 60:
        return f"{sign}{minutes}{NO_BREAK}min"
    return f"{sign}{minutes // 60}{NO_BREAK}h{NO_BREAK}{minutes % 60:02d}"


def duration_difference(seconds: float) -> str:
    text = duration(seconds)
    return f"+{text}" if seconds > 0 and text != duration(0) else text


def hold(minutes: float) -> str:
    """A hold as written: 10 min, 1 h 30, 24 h."""
    return duration(minutes * 60)


def percent(share: float) -> str:
    return f"{number(share * 100)}{NO_BREAK}%"


def percent_difference(share: float) -> str:
    """A change as a share, with its sign: “+4 %”."""
    text = percent(share)
    return f"+{text}" if share > 0 and text != percent(0) else text


STOCK_UNITS = {"area": ("cm²", 100, 2), "mass": ("g", 1000, 3), "length": ("m", 1000, 3)}
"""By the measure of a lot: the unit that is read, how many steps it has, its decimals."""


def stock_amount(amount: int, measure: str) -> str:
    """What is on the shelf, from the measure's step: 200000 mm² → 2000 cm², 1500 mg → 1.5 g."""
    if measure == "count":
        return f"{number(amount)}{NO_BREAK}piece{'' if abs(amount) == 1 else 's'}"
    unit, steps, decimals = STOCK_UNITS[measure]
    return f"{number(amount / steps, decimals)}{NO_BREAK}{unit}"


def size(rectangle: Rectangle) -> str:
    return f"{rectangle.length}{NO_BREAK}×{NO_BREAK}{rectangle.width}{NO_BREAK}mm"


def money(amount: Decimal, currency: str) -> str:
    """With the decimals that it has: 3.20 EUR, −1.50 EUR."""
    return f"{amount:f}".replace("-", MINUS) + f"{NO_BREAK}{currency}"
