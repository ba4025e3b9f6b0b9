"""A schedule's verdicts against its heat work, as a drawing for a desk and one for a phone.

Heat work is told as the peak that, with the hold of today, would do as much. The dashed line is the
revision as it stands, the pale band what is wanted give or take its doubt, the grey one what the
judge would be expected to say. A filled mark is a firing in this kiln, an open one any other.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from firings.services.tuning_band import TuningBand, TuningPoint
from schedules.axes import Tick, path_data, round_step
from schedules.charts import DESK, PHONE, Paper
from studio.formats import DEGREE, number
from studio.services.units import from_celsius, to_celsius

LEFT = {"desk": 104.0, "phone": 106.0}
LOWEST, HIGHEST = -2.5, 2.5
"""Of the scale of verdicts that is shown: half a step beyond the outermost."""
ROWS = (0.0, 0.11, -0.11, 0.22, -0.22, 0.33, -0.33)
"""Steps of verdict by which a mark is moved aside where another would hide it, the least first."""
NEAR = 12.0
"""Pixels within which one mark hides another."""
RADIUS = 4.5
MOST_POINTED_AT = 60
"""Marks among which one can be told from the next."""
LABEL_ROOM, LABEL_GAP = 60.0, 5.0
"""Pixels that the word beside a stretch takes, and between the two."""
MOST_TICKS = {"desk": 9, "phone": 5}


@dataclass(frozen=True)
class Mark:
    """One judged firing, with its words for whoever points at it."""

    x: float
    y: float
    here: bool
    words: str


@dataclass(frozen=True)
class Stretch:
    """From `x` on, so wide; its label stands beside it, where there is more room."""

    x: float
    width: float
    label_at: float
    label_anchor: str


@dataclass(frozen=True)
class TuningDrawing:
    """One drawing: everything in its own pixel space of `width` × `height`.

    On a phone nobody points, nor at one of a hundred: the marks are then two paths, `here` and
    `elsewhere`, without words.
    """

    name: str
    width: int
    height: int
    left: float
    right: float
    top: float
    bottom: float
    wanted: Stretch
    believed: str
    middle: str
    own: float
    marks: tuple[Mark, ...]
    here: str
    elsewhere: str
    doubts: str
    verdict_ticks: tuple[Tick, ...]
    peak_ticks: tuple[Tick, ...]
    unit: str

    @property
    def plot_height(self) -> float:
        return self.bottom - self.top

    @property
    def tick_right(self) -> float:
        return self.left - 7

    @property
    def tick_below(self) -> float:
        return self.bottom + 21

    @property
    def title_at(self) -> float:
        return self.top - 9


@dataclass(frozen=True)
class HeatWorkRow:
    """A row of the table beside the drawing: about this peak (°C), what came and what is likely.

    `verdicts` are pairs of a verdict and how many firings came out so; `chances` of the five.
    """

    peak: float
    verdicts: tuple[tuple[int, int], ...]
    chances: tuple[float, ...]
    is_own: bool

    @property
    def as_wanted(self) -> float:
        return self.chances[2]


def tuning_drawings(
    band: TuningBand,
    unit: str,
    verdicts: Mapping[int, str],
    words_of: Callable[[TuningPoint], str],
) -> tuple[TuningDrawing, ...]:
    """The same chart for a desk and for a phone.

    Parameters
    ----------
    band : see `TuningBand`
    unit : of the axis of peaks
    verdicts : the words of each
    words_of : what a mark says of its firing
    """
    return tuple(_draw(paper, band, unit, verdicts, words_of) for paper in (DESK, PHONE))


def heat_work_rows(band: TuningBand, unit: str) -> tuple[HeatWorkRow, ...]:
    """What the drawing shows, at each of the desk's ticks; a firing counts at the nearest one."""
    peaks = np.array([to_celsius(value, unit) for value in _tick_values(band, unit, "desk")])
    if not peaks.size:
        return ()
    at = [int(np.abs(peaks - point.peak).argmin()) for point in band.points]
    counts = Counter(zip(at, (point.verdict for point in band.points), strict=True))
    own = int(np.abs(peaks - band.own_peak).argmin())
    return tuple(
        HeatWorkRow(
            peak=float(peak),
            verdicts=tuple((v, counts[row, v]) for v in range(-2, 3) if counts[row, v]),
            chances=tuple(float(np.interp(peak, band.peaks, column)) for column in band.chances.T),
            is_own=row == own,
        )
        for row, peak in enumerate(peaks)
    )


def _tick_values(band: TuningBand, unit: str, name: str) -> list[float]:
    """Round peaks in the reader's unit."""
    low, high = (float(from_celsius(band.peaks[end], unit)) for end in (0, -1))
    step = max(round_step((high - low) / MOST_TICKS[name]), 1.0)
    values: list[float] = (
        step * np.arange(np.ceil(low / step), np.floor(high / step) + 1)
    ).tolist()
    return values


def _draw(
    paper: Paper,
    band: TuningBand,
    unit: str,
    verdicts: Mapping[int, str],
    words_of: Callable[[TuningPoint], str],
) -> TuningDrawing:
    left, top = LEFT[paper.name], 30.0
    right, bottom = paper.width - paper.margins[2], float(paper.height - paper.margins[3])
    low, high = float(band.peaks[0]), float(band.peaks[-1])

    def x_of(peaks: Sequence[float] | np.ndarray) -> np.ndarray:
        inside = np.clip(np.asarray(peaks, dtype=np.float64), low, high)
        return np.asarray(left + (right - left) * (inside - low) / (high - low))

    def y_of(judged: Sequence[float] | np.ndarray) -> np.ndarray:
        inside = np.clip(np.asarray(judged, dtype=np.float64), LOWEST, HIGHEST)
        return np.asarray(bottom - (bottom - top) * (inside - LOWEST) / (HIGHEST - LOWEST))

    def placed(peaks: Sequence[float]) -> list[float]:
        found: list[float] = np.round(x_of(peaks), 1).tolist()
        return found

    across = x_of(band.peaks)
    outline = path_data(
        np.concatenate([across, across[::-1]]),
        y_of(np.concatenate([band.high, band.low[::-1]])),
    )
    points = band.points
    xs = placed([point.peak for point in points])
    lows = placed([point.peak - point.peak_uncertainty for point in points])
    highs = placed([point.peak + point.peak_uncertainty for point in points])
    rows = _rows_of(xs, [point.verdict for point in points])
    judged = [point.verdict + row for point, row in zip(points, rows, strict=True)]
    ys: list[float] = np.round(y_of(judged), 1).tolist()
    own, from_x, to_x = placed(
        [band.own_peak, *(band.wanted_peak + side * band.peak_doubt for side in (-1, 1))]
    )
    values = _tick_values(band, unit, paper.name)
    at = placed([float(to_celsius(value, unit)) for value in values])
    is_pointed_at = paper is DESK and len(points) <= MOST_POINTED_AT
    return TuningDrawing(
        name=paper.name,
        width=paper.width,
        height=paper.height,
        left=left,
        right=right,
        top=top,
        bottom=bottom,
        wanted=_stretch(from_x, to_x, left, right),
        believed=f"{outline}Z",
        middle=path_data(across, y_of(band.middle)),
        own=own,
        marks=tuple(
            Mark(x, y, point.here, words_of(point))
            for x, y, point in zip(xs, ys, points, strict=True)
        )
        if is_pointed_at
        else (),
        here="" if is_pointed_at else _dots(xs, ys, [point.here for point in points]),
        elsewhere="" if is_pointed_at else _dots(xs, ys, [not point.here for point in points]),
        doubts="".join(
            f"M{low:g} {y:g}H{high:g}" for low, y, high in zip(lows, ys, highs, strict=True)
        ),
        verdict_ticks=tuple(
            Tick(round(float(y_of([value])[0]), 1), words) for value, words in verdicts.items()
        ),
        peak_ticks=tuple(Tick(x, number(value)) for x, value in zip(at, values, strict=True)),
        unit=DEGREE[unit],
    )


def _stretch(begin: float, end: float, left: float, right: float) -> Stretch:
    width = round(end - begin, 1)
    if end + LABEL_ROOM <= right or right - end > begin - left:
        return Stretch(begin, width, round(end + LABEL_GAP, 1), "start")
    return Stretch(begin, width, round(begin - LABEL_GAP, 1), "end")


def _dots(xs: Sequence[float], ys: Sequence[float], shown: Sequence[bool]) -> str:
    """Circles as one path."""
    across = f"a{RADIUS} {RADIUS} 0 1 0"
    return "".join(
        f"M{x - RADIUS:g} {y:g}{across} {2 * RADIUS:g} 0{across} {-2 * RADIUS:g} 0"
        for x, y, is_shown in zip(xs, ys, shown, strict=True)
        if is_shown
    )


def _rows_of(across: Sequence[float], verdicts: Sequence[int]) -> list[float]:
    """For each mark the first of `ROWS` in which it hides none that is drawn already."""
    taken: defaultdict[tuple[int, float, int], list[float]] = defaultdict(list)
    rows = []
    for x, verdict in zip(across, verdicts, strict=True):
        column = int(x // NEAR)
        beside = (column - 1, column, column + 1)
        room = {
            row: min(
                (abs(x - other) for each in beside for other in taken[verdict, row, each]),
                default=NEAR,
            )
            for row in ROWS
        }
        row = next((row for row in ROWS if room[row] >= NEAR), max(ROWS, key=room.__getitem__))
        taken[verdict, row, column].append(x)
        rows.append(row)
    return rows
