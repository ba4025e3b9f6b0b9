"""How numbers are written for a reader: temperatures in their unit, durations, holds.

Functions take core values (°C, °C per hour, seconds) and give text; nothing here reads text.
"""

from studio.services.units import from_celsius, rate_from_celsius

MINUS = "−"
DEGREE = {"C": "°C", "F": "°F"}


def number(value: float, decimals: int = 0) -> str:
    """Text of a number with a true minus sign, without trailing zeros: 6.70 → 6.7, -0.0 → 0."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    if text in ("-0", ""):
        text = "0"
    return text.replace("-", MINUS)


def temperature(value_c: float, unit: str, decimals: int = 0) -> str:
    return f"{number(float(from_celsius(value_c, unit)), decimals)} {DEGREE[unit]}"


def temperature_difference(delta_c: float, unit: str, decimals: int = 0) -> str:
    """A difference, signed: +2 °C. A difference of 10 °C is 18 °F, never 50."""
    text = number(float(rate_from_celsius(delta_c, unit)), decimals)
    sign = "+" if delta_c > 0 and text != "0" else ""
    return f"{sign}{text} {DEGREE[unit]}"


def temperature_span(delta_c: float, unit: str, decimals: int = 0) -> str:
    """A difference without a sign, for how far apart things may lie: 1.5 °C."""
    return temperature_difference(abs(delta_c), unit, decimals).removeprefix("+")


def rate(value_c_per_h: float | None, unit: str, decimals: int = 0) -> str:
    if value_c_per_h is None:
        return "full power"
    return f"{number(float(rate_from_celsius(value_c_per_h, unit)), decimals)} {DEGREE[unit]}/h"


def duration(seconds: float) -> str:
    """16 h 05 · 38 min · 0 min, rounded to the minute."""
    minutes = round(abs(seconds) / 60)
    sign = MINUS if seconds < 0 and minutes else ""
    if minutes < 60:
        return f"{sign}{minutes} min"
    return f"{sign}{minutes // 60} h {minutes % 60:02d}"


def duration_difference(seconds: float) -> str:
    text = duration(seconds)
    return f"+{text}" if seconds > 0 and text != "0 min" else text


def hold(minutes: float) -> str:
    """A hold as written: 10 min, 1 h 30, 24 h."""
    return duration(minutes * 60)


def percent(share: float) -> str:
    return f"{number(share * 100)} %"


def percent_difference(share: float) -> str:
    """A change as a share, with its sign: “+4 %”."""
    text = percent(share)
    return f"+{text}" if share > 0 and text != "0 %" else text
