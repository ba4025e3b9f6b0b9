"""What `schedules.charts` draws, as a plotly figure: lists of rounded numbers, ready for JSON.

Colours are left to the page, which knows whether it is light or dark: `meta` names each trace, and
the `name` of each shape its kind of band. Recorded readings are thinned; a closer look at a stretch
asks for its `detail`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from schedules.axes import HOUR
from schedules.charts import Line, Moment, TemperatureBand
from schedules.services.thinning import thinned
from studio.formats import DEGREE, duration, plain
from studio.services.units import from_celsius

HOVER_POINTS = 300
MOST_READINGS = 2000


@dataclass(frozen=True)
class TimeBand:
    """A named stretch of time, s from the start."""

    label: str
    start: float
    end: float


def plotly_figure(
    *,
    unit: str,
    planned: Line | None = None,
    earlier: Line | None = None,
    recorded: Line | None = None,
    readings: Line | None = None,
    bands: Sequence[TemperatureBand] = (),
    stretches: Sequence[TimeBand] = (),
    moments: Sequence[Moment] = (),
    starts_at: datetime | None = None,
) -> dict[str, Any]:
    """The figure; `meta.clock` of its layout tells how its time axis reads, see `clock_pieces`."""
    lines = [line for line in (planned, earlier, recorded, readings) if line and line.times.size]
    last = max((float(np.nanmax(line.times)) for line in lines), default=0.0)
    clock = clock_pieces(last, starts_at)
    given = {"planned": planned, "earlier": earlier, "recorded": recorded, "readings": readings}
    traces = [
        _trace(kind, line, unit, clock)
        for kind, line in given.items()
        if line is not None and line.times.size
    ]
    if moments:
        traces.append(_moments_trace(moments, unit, clock))
    return {
        "data": traces,
        "layout": {
            "xaxis": {"title": {"text": "" if starts_at else "hours"}},
            "yaxis": {"title": {"text": DEGREE[unit]}, "rangemode": "tozero"},
            "shapes": [
                *(_stretch_shape(stretch, clock) for stretch in stretches),
                *(_band_shape(band, unit) for band in bands),
            ],
            "showlegend": len(traces) > 1,
            "meta": {"clock": [[seconds, f"{at:%Y-%m-%d %H:%M:%S}"] for seconds, at in clock]},
        },
    }


def detail(
    recorded: Line, *, unit: str, starts_at: datetime | None, since: float, until: float
) -> dict[str, Any]:
    """The points of the recorded trace anew, those from `since` to `until` (s) in detail."""
    times = recorded.times
    clock = clock_pieces(float(np.nanmax(times)) if times.size else 0.0, starts_at)
    first, last = np.searchsorted(times, [since, until])
    first, last = max(int(first) - 1, 0), min(int(last) + 1, times.size)
    parts = [
        thinned(recorded.times[part], recorded.temperatures[part], most)
        for part, most in (
            (slice(0, first), MOST_READINGS // 10),
            (slice(first, last), MOST_READINGS),
            (slice(last, None), MOST_READINGS // 10),
        )
    ]
    times, temperatures = (np.concatenate(each) for each in zip(*parts, strict=True))
    return _points(times, temperatures, unit, clock)


Clock = Sequence[tuple[float, datetime]]


def clock_pieces(last: float, starts_at: datetime | None) -> Clock:
    """From which second on the clock reads what: one piece, and one more where the clocks change.

    Parameters
    ----------
    last : s from the start until which it is wanted
    starts_at : in the studio's zone; None where the axis shows hours

    Returns
    -------
    Pairs of s from the start and the reading of the clock then, without a zone.
    """
    if starts_at is None:
        return ()
    start = starts_at.astimezone(UTC)

    def reading(seconds: float) -> datetime:
        moment = (start + timedelta(seconds=seconds)).astimezone(starts_at.tzinfo)
        return moment.replace(tzinfo=None)

    def at_zero(seconds: float) -> datetime:
        return reading(seconds) - timedelta(seconds=seconds)

    pieces = [(0.0, reading(0.0))]
    if at_zero(last) == at_zero(0.0):
        return pieces
    before, after = 0.0, last
    while after - before > 0.5:
        middle = (before + after) / 2
        if at_zero(middle) == at_zero(0.0):
            before = middle
        else:
            after = middle
    change = float(round(after))
    return [*pieces, (change, reading(change))]


_TRACE_NAMES = {
    "planned": "planned",
    "earlier": "planned before",
    "recorded": "recorded",
    "readings": "readings",
}


def _trace(kind: str, line: Line, unit: str, clock: Clock) -> dict[str, Any]:
    times, temperatures = line.times, line.temperatures
    if kind in ("planned", "earlier"):
        # a plan is exact in between, so there is something to point at
        more = np.linspace(times[0], times[-1], HOVER_POINTS)
        dense = np.union1d(times, more)
        times, temperatures = dense, np.interp(dense, times, temperatures)
    else:
        times, temperatures = thinned(times, temperatures, MOST_READINGS)
    return {
        "meta": kind,
        "name": _TRACE_NAMES[kind],
        "type": "scatter",
        "mode": "markers" if kind == "readings" else "lines",
        **_points(times, temperatures, unit, clock),
        "connectgaps": False,
        "hovertemplate": f"%{{customdata}}: %{{y:.0f}} {DEGREE[unit]}<extra></extra>",
    }


def _points(
    times: NDArray[np.float64], temperatures: NDArray[np.float64], unit: str, clock: Clock
) -> dict[str, list[Any]]:
    shown = np.round(np.asarray(from_celsius(temperatures, unit)), 1).tolist()
    return {
        "x": _on_axis(times, clock),
        "y": [None if math.isnan(value) else value for value in shown],
        "customdata": [plain(duration(value)) for value in times.tolist()],
    }


def _moments_trace(moments: Sequence[Moment], unit: str, clock: Clock) -> dict[str, Any]:
    times = np.array([each.at for each in moments])
    shown = np.asarray(from_celsius(np.array([each.temperature for each in moments]), unit))
    return {
        "meta": "moments",
        "name": "on the way",
        "type": "scatter",
        "mode": "markers",
        "x": _on_axis(times, clock),
        "y": [round(value, 1) for value in shown.tolist()],
        "customdata": [f"{plain(duration(each.at))}: {each.words}" for each in moments],
        "hovertemplate": "%{customdata}<extra></extra>",
    }


def _on_axis(times: NDArray[np.float64], clock: Clock) -> list[Any]:
    """Where times stand on the axis: hours, or the clock's reading to the second."""
    if not clock:
        return np.round(times / HOUR, 4).tolist()
    piece = np.searchsorted([seconds for seconds, _ in clock], times, side="right") - 1
    since = times - np.array([seconds for seconds, _ in clock])[piece]
    starts = np.array([at for _, at in clock], dtype="datetime64[s]")[piece]
    texts = np.datetime_as_string(starts + since.astype("timedelta64[s]"))
    return [text.replace("T", " ") for text in texts.tolist()]


def _band_shape(band: TemperatureBand, unit: str) -> dict[str, Any]:
    return {
        "name": band.kind,
        "type": "rect",
        "layer": "below",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": round(float(from_celsius(band.low, unit)), 1),
        "y1": round(float(from_celsius(band.high, unit)), 1),
        "label": {"text": band.label, "textposition": "bottom right"},
    }


def _stretch_shape(stretch: TimeBand, clock: Clock) -> dict[str, Any]:
    since, until = _on_axis(np.array([stretch.start, stretch.end]), clock)
    return {
        "name": "stretch",
        "type": "rect",
        "layer": "below",
        "yref": "paper",
        "y0": 0,
        "y1": 1,
        "x0": since,
        "x1": until,
        "label": {"text": stretch.label, "textposition": "top left"},
    }
