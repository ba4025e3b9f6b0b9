"""Which of a date's numbers is its day, and which moment a local time means.

A clock change shows in the readings: where it is set back an hour comes twice, where it is set
forward one is missing. A logger that knows no summer time writes hours that do not exist.
"""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

import numpy as np

from firings.services.recording.choices import DateOrder
from firings.services.recording.moments import (
    SHORT_YEAR,
    YEAR_FIRST,
    Ints,
    TimeCells,
    full_year,
)
from firings.services.recording.series import Floats, RecordingRemark

if TYPE_CHECKING:
    import pandas as pd

DAY = 86_400.0
HALF_HOUR = 1_800.0
LONGEST_QUICK = 800
"""Days over which a zone's offset is looked up day by day."""
_FIRST_YEAR, _LAST_YEAR = 1970, 2200
_PLACES: dict[DateOrder, tuple[int, int, int]] = {  # of year, month and day in what is written
    "day first": (2, 1, 0),
    "month first": (2, 0, 1),
    "year first": (0, 1, 2),
}


def calendar_days(year: Ints, month: Ints, day: Ints) -> Floats:
    """Days since 1970-01-01 in the Gregorian calendar; NaN where there is no such day.

    Examples
    --------
    >>> calendar_days(np.array([1970, 2026]), np.array([1, 2]), np.array([2, 30])).tolist()
    [1.0, nan]
    """
    sound = (month >= 1) & (month <= 12) & (day >= 1) & (year >= _FIRST_YEAR) & (year < _LAST_YEAR)
    months = np.where(sound, (year - 1970) * 12 + month - 1, 0).astype("datetime64[M]")
    first = months.astype("datetime64[D]").astype(np.int64)
    next_first = (months + 1).astype("datetime64[D]").astype(np.int64)
    return np.where(sound & (day <= next_first - first), first + day - 1.0, np.nan)


def days_of(
    cells: TimeCells, choice: DateOrder | None, month_first_likely: bool
) -> tuple[Floats, list[RecordingRemark]]:
    """The day of each cell, told from the sequence where one date alone can't tell.

    Of the orders in which (almost) every date exists, the one is taken in which the dates span the
    fewest days. Where that decides nothing, all dates being of one day, it is assumed: the month
    first where `month_first_likely`, or with a clock of twelve hours, and the day first otherwise.

    Parameters
    ----------
    cells : with dates, n of them
    choice : of a person, for dates that can be read in several ways
    month_first_likely : whether other things in the file speak for it

    Returns
    -------
    Days since 1970-01-01, shape (n,), NaN where there is none, and what was told or assumed.

    Examples
    --------
    >>> from firings.services.recording.cells import cells_of
    >>> from firings.services.recording.moments import time_cells
    >>> cells = time_cells(cells_of(["31/3/2026", "1/4/2026"]))
    >>> days_of(cells, None, False)[0].tolist()
    [20543.0, 20544.0]
    >>> [remark.code for remark in days_of(time_cells(cells_of(["1/4/2026"])), None, False)[1]]
    ['date_order_assumed']
    """
    if (cells.order == YEAR_FIRST).all():
        return _by_unique(cells.dates, "year first"), []
    days = np.full(cells.order.size, np.nan)
    known = (cells.order == YEAR_FIRST) & (cells.kind != 0)
    days[known] = _by_unique(cells.dates[:, known], "year first")
    open_ = cells.order != YEAR_FIRST
    written = cells.dates[:, open_]
    orders: list[DateOrder] = ["day first", "month first"]
    if (cells.order[open_] == SHORT_YEAR).all():
        orders.append("year first")
    candidates = {order: _by_unique(written, order) for order in orders}
    if choice is not None:
        days[open_] = candidates.get(choice, candidates["day first"])
        return days, []
    missing = {order: float(np.mean(np.isnan(found))) for order, found in candidates.items()}
    sound = [order for order in orders if missing[order] <= min(missing.values()) + 0.01]
    span = {order: _span(candidates[order]) for order in sound}
    closest = [order for order in sound if span[order] == min(span.values())]
    month_first = month_first_likely or (cells.twelve_hours and not cells.dotted)
    best: DateOrder = closest[0]
    if month_first and "month first" in closest:
        best = "month first"
    days[open_] = candidates[best]
    if len(closest) > 1 and not _agree([candidates[order] for order in closest]):
        return days, [RecordingRemark("date_order_assumed", {"order": best})]
    if len(sound) > 1 and len(closest) == 1:
        return days, [RecordingRemark("date_order_from_sequence", {"order": best})]
    return days, []


def _agree(candidates: Sequence[Floats]) -> bool:
    """Whether all read the same, as of 3/3/2026."""
    return all(np.array_equal(candidates[0], other, equal_nan=True) for other in candidates[1:])


def _by_unique(dates: Ints, order: DateOrder) -> Floats:
    """Days of dates, each different one worked out once."""
    if not dates.size:
        return np.empty(0)
    changes = np.flatnonzero((dates[:, 1:] != dates[:, :-1]).any(axis=0)) + 1
    if 0 < 10 * changes.size < dates.shape[1]:  # most lines are of the day of the line before
        starts = np.concatenate(([0], changes))
        return np.repeat(
            _by_unique(dates[:, starts], order), np.diff(starts, append=dates.shape[1])
        )
    from pandas import factorize

    keys = (dates[0].astype(np.int64) * 10_000 + dates[1]) * 10_000 + dates[2]
    codes, unique = factorize(keys)
    numbers = np.array([unique // 10**8, unique // 10_000 % 10_000, unique % 10_000])
    year, month, day = (numbers[place] for place in _PLACES[order])
    found = calendar_days(full_year(year), month, day)
    return np.asarray(found[codes], dtype=np.float64)


def _span(days: Floats) -> float:
    known = days[np.isfinite(days)]
    return float(known.max() - known.min()) if known.size else np.inf


def utc_seconds(local: Floats, zone: tzinfo) -> tuple[Floats, list[RecordingRemark]]:
    """Seconds since 1970 in UTC of local times, in the order in which they were written.

    Parameters
    ----------
    local : s since 1970 by the local clock, shape (n,), finite
    zone : of the clock

    Returns
    -------
    Shape (n,), and what was made of a clock change: "clock_set_back" where an hour comes twice,
    "clock_not_changed" where the logger went on without the change, "hour_twice_assumed" where the
    readings do not tell which of two hours is meant.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> first = datetime(2026, 10, 25, 2, 30, tzinfo=UTC).timestamp()
    >>> local = np.array([first, first + 1200, first - 1200, first])  # 2:30, 2:50, 2:10, 2:30
    >>> seconds, remarks = utc_seconds(local, ZoneInfo("Europe/Berlin"))
    >>> np.diff(seconds).tolist(), remarks[0].code
    ([1200.0, 1200.0, 1200.0], 'clock_set_back')
    """
    if not local.size:
        return local, []
    offset = _only_offset(local, zone)
    if offset is not None:
        return local - offset, []
    from pandas import DatetimeIndex

    index = DatetimeIndex(np.round(local * 1e6).astype("int64").view("datetime64[us]"))
    summer = np.ones(local.size, dtype=bool)
    early = _from_index(index.tz_localize(zone, ambiguous=summer, nonexistent="NaT"))
    late = _from_index(index.tz_localize(zone, ambiguous=~summer, nonexistent="NaT"))
    if np.isnan(early).any():
        return local - _offset_at(local[0], zone), [RecordingRemark("clock_not_changed")]
    twice = np.flatnonzero(early != late)
    if not twice.size:
        return early, []
    return _of_two(local, early, late, int(twice[0]), int(twice[-1]))


def _of_two(
    local: Floats, early: Floats, late: Floats, first: int, last: int
) -> tuple[Floats, list[RecordingRemark]]:
    """Which of two moments is meant by the readings from `first` to `last`."""
    window = slice(max(first - 1, 0), last + 2)
    back = np.flatnonzero(np.diff(local[window]) < -HALF_HOUR) + window.start
    rows = np.arange(local.size)
    if back.size:
        seconds = np.where(rows > back[0], late, early)
        return seconds, [RecordingRemark("clock_set_back", {"seconds": 3600.0})]
    follows = first > 0 and local[first] - local[first - 1] < HALF_HOUR
    goes_on = last < local.size - 1 and local[last + 1] - local[last] < HALF_HOUR
    if follows and goes_on:  # the hour passed once: nobody changed this clock
        shift = local[0] - early[0]
        return local - shift, [RecordingRemark("clock_not_changed")]
    if follows:  # and then nothing, or a gap: it was the first of the two hours
        return early, []
    return (late if goes_on else early), [RecordingRemark("hour_twice_assumed")]


def _only_offset(local: Floats, zone: tzinfo) -> float | None:
    """The zone's offset, s, if it is one and the same from a day before to a day after."""
    low, high = float(local.min()) - DAY, float(local.max()) + DAY
    if high - low > LONGEST_QUICK * DAY:
        return None
    offsets = {_offset_at(at, zone) for at in np.arange(low, high + DAY, DAY)}
    return offsets.pop() if len(offsets) == 1 else None


def _offset_at(local: float, zone: tzinfo) -> float:
    moment = datetime.fromtimestamp(local, UTC).replace(tzinfo=zone)
    return (moment.utcoffset() or timedelta()).total_seconds()


def _from_index(index: "pd.DatetimeIndex") -> Floats:
    naive = index.tz_convert("UTC").tz_localize(None).to_numpy()
    seconds = naive.astype("datetime64[us]").astype(np.int64) / 1e6
    return np.where(np.isnat(naive), np.nan, seconds)
