"""Axes and lines of a drawing: where ticks stand, and points as the data of a path."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from studio.formats import number

HOUR = 3600.0
QUARTER = 900.0


@dataclass(frozen=True)
class Tick:
    at: float
    label: str


def path_data(x: NDArray[np.float64], y: NDArray[np.float64]) -> str:
    """The data of an SVG path through points; it breaks where `y` is NaN."""
    parts: list[str] = []
    pen_up = True
    for px, py in zip(x, y, strict=True):
        if math.isnan(py):
            pen_up = True
            continue
        parts.append(f"{'M' if pen_up else 'L'}{px:.1f} {py:.1f}")
        pen_up = False
    return "".join(parts)


def round_step(rough: float) -> float:
    """The next 1, 2, 2.5 or 5 × 10ⁿ at or above a rough step."""
    scale = 10.0 ** math.floor(math.log10(rough))
    return next(step * scale for step in (1, 2, 2.5, 5, 10) if step * scale >= rough * 0.999)


def time_ticks(
    last: float, left: float, right: float, most: int, starts_at: datetime | None
) -> tuple[Tick, ...]:
    """Ticks of a time axis of `last` s between `left` and `right`: hours, or clock times."""
    hours = last / HOUR
    step_h = next(
        (step for step in (0.25, 0.5, 1, 2, 3, 4, 6, 12, 24, 48, 96) if hours / step <= most), 240
    )
    if starts_at is None:
        values = [step_h * n for n in range(int(hours / step_h) + 1)]
        return tuple(
            Tick(round(left + (right - left) * v / hours, 1), f"{number(v, 2)} h" if v else "0")
            for v in values
        )
    return tuple(
        Tick(
            round(left + (right - left) * seconds / last, 1),
            f"{clock:%a}" if clock.hour == clock.minute == 0 else f"{clock:%H:%M}",
        )
        for seconds, clock in _quarters(last, starts_at)
        if (clock.toordinal() * 24 + clock.hour + clock.minute / 60) % step_h == 0
    )


def _quarters(last: float, starts_at: datetime) -> Iterator[tuple[float, datetime]]:
    """Each quarter of an hour by the clock until `last` (s), also where the clocks change."""
    into_quarter = starts_at.minute % 15 * 60 + starts_at.second + starts_at.microsecond / 1e6
    seconds = -into_quarter % QUARTER
    while seconds <= last:
        yield seconds, _clock(starts_at, seconds)
        seconds += QUARTER


def _clock(starts_at: datetime, seconds: float) -> datetime:
    """The time by the clock after so many seconds that really pass."""
    return (starts_at.astimezone(UTC) + timedelta(seconds=seconds)).astimezone(starts_at.tzinfo)
