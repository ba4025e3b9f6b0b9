"""How long a firing lay in the ranges that matter to glass, and how fast it left the annealing."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firings.services.holding import QUIET
from firings.services.readings import Readings
from firings.services.top import find_top
from schedules.services.curve import Curve
from schedules.services.process_ranges import DEVITRIFICATION, peak_range
from studio.services.glass import Glass
from studio.services.kiln_response import SECONDS_PER_HOUR

Floats = NDArray[np.float64]

ABOUT_THE_TOP = 15.0
"""°C about the top that count as the process where the trade has no range for it."""
SMOOTHED = 90.0
"""s to both sides over which noisy readings are smoothed before they are held against a range."""
COOLING_WINDOW = 900.0
"""s to both sides over which a rate of cooling is taken, where the range takes long enough."""
LEAST_FALL = 0.2
"""Share of the range through which a stay in it has to lead, to be a cooling."""
LEAST_WINDOW = 60.0
"""s, at least."""


@dataclass(frozen=True)
class Band:
    """The time spent in a range of temperatures.

    Attributes
    ----------
    name : "process", "devitrification" or "annealing"
    low, high : °C
    planned : s
    recorded : s, or None without a series of readings
    """

    name: str
    low: float
    high: float
    planned: float
    recorded: float | None


def bands(
    plan: Curve, readings: Readings | None, glass: Glass, process: str | None = None
) -> tuple[Band, ...]:
    """The time planned and recorded in the process, devitrification and annealing ranges.

    The plan ends with its last segment. Of the readings the whole is counted, free cooling
    included, without what lies in a gap; of a process without a range of the trade's, what lies
    within 15 °C of the plan's top.

    Examples
    --------
    >>> from schedules.services.curve import Segment, planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> plan = planned_curve([Segment(200.0, 804.0, 600.0)], KilnResponse(1500.0, 7e3, 1e4))
    >>> [(band.name, round(band.planned)) for band in bands(plan, None, Glass(), "full_fuse")]
    [('process', 852), ('devitrification', 1080), ('annealing', 666)]
    """
    ranges = [
        ("devitrification", DEVITRIFICATION.low, DEVITRIFICATION.high),
        ("annealing", glass.strain_point, glass.annealing_point),
    ]
    trade = peak_range(process)
    if trade is not None:
        ranges.insert(0, ("process", trade.low, trade.high))
    elif plan.segments:
        top = find_top(plan.segments).peak
        ranges.insert(0, ("process", top - ABOUT_THE_TOP, top + ABOUT_THE_TOP))
    seen = None if readings is None else _course(readings)
    return tuple(
        Band(
            name,
            low,
            high,
            time_between(plan.times, plan.temperatures, low, high),
            None if seen is None else time_between(*seen, low, high),
        )
        for name, low, high in ranges
    )


def _course(readings: Readings) -> tuple[Floats, Floats]:
    """Times and temperatures, smoothed where they are noisy, with NaN in gaps."""
    times, shown = readings.times, readings.temperatures
    if readings.noise > QUIET:
        level, _ = readings.lines(times, max(SMOOTHED, 1.5 * readings.spacing))
        shown = np.where(np.isfinite(level), level, shown)
    if not readings.gaps:
        return times, shown
    unknown = np.array([(begin + end) / 2 for begin, end in readings.gaps])
    order = np.argsort(np.concatenate([times, unknown]), kind="stable")
    return (
        np.concatenate([times, unknown])[order],
        np.concatenate([shown, np.full(unknown.size, np.nan)])[order],
    )


def time_between(times: Floats, temperatures: Floats, low: float, high: float) -> float:
    """Seconds for which a series, joined by straight lines, lies from `low` to `high` (°C).

    Stretches beside a missing value are left out.

    Examples
    --------
    >>> time_between(np.array([0.0, 100.0]), np.array([700.0, 800.0]), 700.0, 760.0)
    60.0
    """
    steps = np.diff(times)
    coldest = np.minimum(temperatures[:-1], temperatures[1:])
    hottest = np.maximum(temperatures[:-1], temperatures[1:])
    rise = hottest - coldest
    inside = np.clip(np.minimum(hottest, high) - np.maximum(coldest, low), 0.0, None)
    level = (rise == 0) & (coldest >= low) & (coldest <= high)
    share = np.divide(inside, rise, out=np.where(level, 1.0, 0.0), where=rise > 0)
    return float(np.sum(steps * share))


@dataclass(frozen=True)
class FastestCooling:
    """The fastest cooling between annealing and strain point, after the peak.

    Attributes
    ----------
    planned, recorded : °C/h, positive; None where the range was not cooled through, or not read
    """

    planned: float | None
    recorded: float | None


NO_COOLING = FastestCooling(None, None)


def fastest_cooling(plan: Curve, readings: Readings | None, glass: Glass) -> FastestCooling:
    """The steepest fall from the annealing to the strain point, planned and recorded.

    Examples
    --------
    >>> from schedules.services.curve import Segment, planned_curve
    >>> from studio.services.kiln_response import KilnResponse
    >>> kiln = KilnResponse(1500.0, 7e3, 1e4)
    >>> plan = planned_curve([Segment(200.0, 560.0), Segment(55.0, 427.0)], kiln)
    >>> round(fastest_cooling(plan, None, Glass()).planned)
    55
    """
    low, high = glass.strain_point, glass.annealing_point
    times = np.union1d(
        plan.times, np.arange(0.0, plan.times[-1], LEAST_WINDOW) if plan.times.size > 1 else []
    )
    planned = None
    if times.size > 2:
        course = Readings(times, plan.at(times), LEAST_WINDOW, ())
        planned = _steepest(course, low, high)
    return FastestCooling(planned, None if readings is None else _steepest(readings, low, high))


def _steepest(readings: Readings, low: float, high: float) -> float | None:
    level, _ = readings.lines(readings.times, max(SMOOTHED, 1.5 * readings.spacing))
    after = np.arange(level.size) > int(np.nanargmax(level))
    inside = np.flatnonzero(after & (level >= low) & (level <= high))
    if inside.size < 3:
        return None
    # A window no wider than the course stays within the range at one go. A soak at its edge comes
    # and goes with the noise: that is one stay.
    apart = np.diff(readings.times[inside]) > COOLING_WINDOW
    steepest = 0.0
    for stay in np.split(inside, np.flatnonzero(apart) + 1):
        times = readings.times[stay]
        if np.ptp(level[stay]) < LEAST_FALL * (high - low):
            continue
        half = float(np.clip(np.ptp(times) / 2, LEAST_WINDOW, COOLING_WINDOW))
        half = max(half, 1.5 * readings.spacing)
        middle = times[(times >= times[0] + half) & (times <= times[-1] - half)]
        if middle.size == 0:
            middle = np.array([(times[0] + times[-1]) / 2])
        _, slope = readings.lines(middle, half)
        if np.isfinite(slope).any():
            steepest = min(steepest, float(np.nanmin(slope)))
    return -steepest * SECONDS_PER_HOUR if steepest < 0 else None
