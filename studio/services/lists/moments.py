"""Cells that hold days, times of day and lengths of time."""

import datetime as dt
import re
from decimal import Decimal

from studio.services.lists.fates import RefusedError
from studio.services.lists.values import Reading

FIRST_DAY = dt.date(1950, 1, 1)
"""What lies before it is a slip of the pen: few kilns had a controller then."""

_SERIAL = re.compile(r"\s*(\d{5})(?:[.,](\d+))?\s*")
_SERIALS_FROM, _SERIALS_TO = 20_000, 80_000
_SERIAL_ZERO = dt.date(1899, 12, 30)
_CLOCK = re.compile(
    r"(?P<h>\d{1,2})\s*[:.h]\s*(?P<min>\d{2})(?::\d{2}(?:[.,]\d+)?)?\s*(?P<half>[ap])?\.?\s*(?:m\.?)?",
    re.IGNORECASE,
)
_WHOLE_HOUR = re.compile(r"(?P<h>\d{1,2})\s*(?P<half>[ap])\.?\s*m\.?", re.IGNORECASE)
_BEHIND_A_DAY = re.compile(
    r"[\sT,](?P<clock>\d{1,2}\s*[:h]\s*\d.*|\d{1,2}\s*[ap]\.?m\.?)$", re.IGNORECASE
)
_LASTS = re.compile(
    r"(?P<h>\d{1,4})\s*(?::|h|hrs?|hours?)\s*(?P<min>[0-5]?\d)?(?::(?P<s>[0-5]\d))?"
    r"\s*(?:min|m|mins|minutes)?"
)
_SECONDS = {"s": 1, "sec": 1, "min": 60, "mins": 60, "m": 60, "minute": 60, "minutes": 60,
            "h": 3600, "hr": 3600, "hrs": 3600, "hour": 3600, "hours": 3600}  # fmt: skip


def moment(cell: str, column: str, reading: Reading) -> tuple[dt.date, dt.time | None]:
    """A day, and the time of day behind it where there is one.

    A number of five digits is a day as spreadsheets count them, from 1900.

    Raises
    ------
    RefusedError
        "not_a_date", "not_a_time"

    Examples
    --------
    >>> moment("4.3.2024 14:30", "started", Reading())
    (datetime.date(2024, 3, 4), datetime.time(14, 30))
    >>> moment("March 4, 2024", "started", Reading())
    (datetime.date(2024, 3, 4), None)
    >>> moment("45355.604166667", "started", Reading())
    (datetime.date(2024, 3, 4), datetime.time(14, 30))

    Source: ISO/IEC 29500-1, 18.17.4.1 (the 1900 date base) for days as numbers.
    """
    serial = _SERIAL.fullmatch(cell)
    if serial and _SERIALS_FROM <= int(serial[1]) <= _SERIALS_TO:
        day = _SERIAL_ZERO + dt.timedelta(int(serial[1]))
        return day, _of_a_day(Decimal(f"0.{serial[2]}")) if serial[2] else None
    day = reading.date(cell, column)
    if day < FIRST_DAY:
        raise RefusedError("not_a_date", column, cell=cell)
    behind = _BEHIND_A_DAY.search(cell.strip())
    if behind is None and ":" not in cell:
        return day, None
    return day, clock(behind["clock"] if behind else cell, column)


def clock(cell: str, column: str) -> dt.time:
    """A time of day: 14:30, 14.30, 14h30, 2:30 pm, 2 pm, or a share of the day.

    Raises
    ------
    RefusedError
        "not_a_time"

    Examples
    --------
    >>> clock("2:30 p.m.", "time"), clock("0.6041666667", "time")
    (datetime.time(14, 30), datetime.time(14, 30))
    """
    bare = cell.strip()
    if re.fullmatch(r"0?[.,]\d{3,}|0", bare):
        return _of_a_day(Decimal(bare.replace(",", ".")))
    found = _CLOCK.fullmatch(bare) or _WHOLE_HOUR.fullmatch(bare)
    if found is not None:
        hour, half = int(found["h"]), (found["half"] or "").lower()
        minute = int(found.groupdict().get("min") or 0)
        if half and not 1 <= hour <= 12:
            hour = 24  # 14:30 am is none
        elif half:
            hour = hour % 12 + (12 if half == "p" else 0)
        if hour < 24 and minute < 60:
            return dt.time(hour, minute)
    raise RefusedError("not_a_time", column, cell=cell)


def lasting_s(cell: str, column: str, reading: Reading, most_s: int) -> int:
    """How long something lasted, s: 20, 20 min, 0:20, 1 h 20, 1,5 h. Bare numbers are minutes.

    Parameters
    ----------
    most_s : s, the longest that is taken

    Raises
    ------
    RefusedError
        "not_a_duration", "negative", or "too_long_a_time"

    Examples
    --------
    >>> [lasting_s(cell, "hold", Reading(), 86400) for cell in ("20", "0:20", "1 h 5", "1.5 h")]
    [1200, 1200, 3900, 5400]
    >>> lasting_s("-5", "hold", Reading(), 86400)
    Traceback (most recent call last):
    studio.services.lists.fates.RefusedError: negative
    """
    bare = cell.strip().lower()
    if re.match(r"[-−–]\s*\d", bare):
        raise RefusedError("negative", column, cell=cell)
    found = _LASTS.fullmatch(bare)
    seconds: int | Decimal
    if found is not None:
        seconds = sum(int(found[name] or 0) * n for name, n in (("h", 3600), ("min", 60), ("s", 1)))
    else:
        try:
            number, unit = reading.number(cell, column)
        except RefusedError:
            raise RefusedError("not_a_duration", column, cell=cell) from None
        unit = unit.rstrip(".") or reading.units.get(column, "")
        if unit and unit not in _SECONDS:
            raise RefusedError("not_a_duration", column, cell=cell)
        seconds = round(number * _SECONDS.get(unit, 60))
    if seconds > most_s:
        raise RefusedError("too_long_a_time", column, cell=cell, most=f"{most_s // 3600} h")
    return int(seconds)


def _of_a_day(share: Decimal) -> dt.time:
    minutes = round(share * 24 * 60) % (24 * 60)
    return dt.time(minutes // 60, minutes % 60)
