"""The temperature difference and the tension of a firing, as two strips under its curve.

They have the curve's time axis and its width, so that one stands under the other. Planned is
dashed, recorded solid; the thin line is the middle of the piece. Shaded is where the glass is so
hot that stress flows away.
"""

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from schedules.axes import HOUR, Tick, path_data, round_step, time_ticks
from schedules.charts import DESK, PHONE, Paper
from schedules.services.annealing import FiringStress
from schedules.services.passing_stress import DESIGN_STRENGTH
from schedules.services.thinning import thinned
from studio.formats import DEGREE, number
from studio.services.units import rate_from_celsius

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

PASCALS_PER_MEGAPASCAL = 1e6
MOST_POINTS = {"desk": 240, "phone": 140}
LEAST_SPAN = 2.0
"""°C of difference that a strip shows at least: less would look like much."""
ROOM_ABOVE = 1.08
TICKS = 6
STRIP = 104.0
_HEADING, _BETWEEN, _BELOW = 26.0, 32.0, 36.0
"""Pixels: above the first strip, between the two, and below the last."""


@dataclass(frozen=True)
class Shade:
    x: float
    width: float


@dataclass(frozen=True)
class Limit:
    """A line that should not be passed, with its words."""

    at: float
    words: str


@dataclass(frozen=True)
class Strip:
    """`line` is the heavy one, `thin` the thin one of the middle of the piece."""

    title: str
    top: float
    line: str
    thin: str
    ticks: tuple[Tick, ...]
    limit: Limit | None = None
    height: float = STRIP

    @property
    def title_at(self) -> float:
        return self.top - 8


@dataclass(frozen=True)
class StressDrawing:
    """One drawing: everything in its own pixel space of `width` × `height`."""

    name: str
    width: int
    height: float
    left: float
    right: float
    strips: tuple[Strip, ...]
    shades: tuple[Shade, ...]
    time_ticks: tuple[Tick, ...]

    @property
    def tick_right(self) -> float:
        return self.left - 7

    @property
    def limit_right(self) -> float:
        return self.right - 6

    @property
    def bottom(self) -> float:
        return self.strips[-1].top + STRIP

    @property
    def tick_below(self) -> float:
        return self.bottom + 21


def stress_drawings(
    stress: FiringStress,
    *,
    soft_above: float,
    unit: str,
    last: float,
    later: float = 0.0,
    one_piece_from: float = 0.0,
    starts_at: datetime | None = None,
) -> tuple[StressDrawing, ...]:
    """The same drawing for a desk and for a phone.

    Parameters
    ----------
    stress : of the firing
    soft_above : °C above which stress flows away
    unit : in which a difference is told
    last : s at the right edge, as the curve above has it
    later : s from the left edge to the time 0 of `stress`
    one_piece_from : s of `stress` before which nothing is drawn
    starts_at : of the left edge, in the studio's zone; None for an axis of hours
    """
    shown = stress.stress.times >= one_piece_from
    times = stress.stress.times[shown] + later
    differences = np.asarray(rate_from_celsius(stress.differences[shown], unit))
    surface, middle = (
        np.maximum(stress.stress.stresses[shown, plane] / PASCALS_PER_MEGAPASCAL, 0.0)
        for plane in (-1, 0)
    )
    soft = stress.faces[shown] > soft_above
    return tuple(
        _drawing(paper, times, differences, surface, middle, soft, last, unit, starts_at)
        for paper in (DESK, PHONE)
    )


def _drawing(
    paper: Paper,
    times: Floats,
    differences: Floats,
    surface: Floats,
    middle: Floats,
    soft: Flags,
    last: float,
    unit: str,
    starts_at: datetime | None,
) -> StressDrawing:
    left, right = paper.margins[0], paper.width - paper.margins[2]
    across = left + (right - left) * times / (last or HOUR)
    strength = DESIGN_STRENGTH / PASCALS_PER_MEGAPASCAL
    scale_of_difference = _Scale.of(
        _HEADING, min(float(differences.min()), 0.0), max(float(differences.max()), 0.0), LEAST_SPAN
    )
    scale_of_tension = _Scale.of(
        scale_of_difference.bottom + _BETWEEN,
        0.0,
        max(strength, float(surface.max()), float(middle.max())),
        strength,
    )

    def line(scale: _Scale, values: Floats) -> str:
        few_x, few = thinned(across, values, MOST_POINTS[paper.name])
        return path_data(few_x, scale.y(few))

    return StressDrawing(
        name=paper.name,
        width=paper.width,
        height=scale_of_tension.bottom + _BELOW,
        left=left,
        right=right,
        strips=(
            scale_of_difference.strip(
                f"Middle less surface, {DEGREE[unit]}", line(scale_of_difference, differences)
            ),
            scale_of_tension.strip(
                "Tension, MPa",
                line(scale_of_tension, surface),
                line(scale_of_tension, middle),
                Limit(
                    round(float(scale_of_tension.y(strength)), 1),
                    f"design strength {number(strength)} MPa",
                ),
            ),
        ),
        shades=_shades(across, soft),
        time_ticks=time_ticks(last or HOUR, left, right, paper.most_time_ticks, starts_at),
    )


@dataclass(frozen=True)
class _Scale:
    """Where values stand in a strip that begins at `top`."""

    top: float
    low: float
    high: float

    @classmethod
    def of(cls, top: float, low: float, high: float, least: float) -> "_Scale":
        spare = max(high - low, least) * ROOM_ABOVE - (high - low)
        below = spare / 2 if low < 0 else 0.0
        return cls(top, low - below, high + spare - below)

    @property
    def bottom(self) -> float:
        return self.top + STRIP

    def y(self, values: Floats | float) -> Floats:
        share = (np.asarray(values, dtype=np.float64) - self.low) / (self.high - self.low)
        return self.bottom - share * STRIP

    def strip(self, title: str, line: str, thin: str = "", limit: Limit | None = None) -> Strip:
        step = round_step((self.high - self.low) / TICKS)
        values = step * np.arange(np.ceil(self.low / step), np.floor(self.high / step) + 1)
        return Strip(
            title=title,
            top=self.top,
            line=line,
            thin=thin,
            ticks=tuple(
                Tick(round(float(self.y(value)), 1), number(value, 2)) for value in values.tolist()
            ),
            limit=limit,
        )


def _shades(across: Floats, soft: Flags) -> tuple[Shade, ...]:
    """Where the glass is soft, from left to right."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], soft, [False]]).astype(np.int8)))
    return tuple(
        Shade(round(float(across[first]), 1), round(float(across[past - 1] - across[first]), 1))
        for first, past in edges.reshape(-1, 2).tolist()
    )
