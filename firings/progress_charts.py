"""A student's verdicts in order, beside their instructor's, and their marks over time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from firings.models import HIGHEST_MARK, LoadedPiece
from firings.queries.progress import MarkLine
from schedules.axes import Tick, path_data

LEFT, RIGHT, TOP, BOTTOM = 92.0, 350.0, 14.0, 134.0
MOST = 40
WORDS = ("well past", "a touch far", "as wanted", "a touch short", "well short")


@dataclass(frozen=True)
class Dot:
    """Of one piece: the maker's verdict and the instructor's, None where there is none."""

    x: float
    mine: float | None
    theirs: float | None


@dataclass(frozen=True)
class ProgressDrawing:
    dots: tuple[Dot, ...]
    lines: tuple[Tick, ...]
    width: int = 360
    height: int = 150
    left: float = LEFT
    right: float = RIGHT


def progress_drawing(pieces: Sequence[LoadedPiece]) -> ProgressDrawing | None:
    """The latest forty, the first of them at the left; None where nothing was judged."""
    judged = [each for each in pieces if each.counted_verdict is not None][-MOST:]
    if not judged:
        return None
    step = (RIGHT - LEFT) / max(len(judged), 2)
    return ProgressDrawing(
        dots=tuple(
            Dot(
                round(LEFT + step * (place + 0.5), 1),
                _y(each.verdict),
                _y(each.reviewed_verdict),
            )
            for place, each in enumerate(judged)
        ),
        lines=tuple(Tick(_at(2 - place), word) for place, word in enumerate(WORDS)),
    )


def _y(verdict: int | None) -> float | None:
    return None if verdict is None else _at(verdict)


def _at(verdict: int) -> float:
    return round(BOTTOM - (BOTTOM - TOP) * (verdict + 2) / 4, 1)


LANE, LANE_GAP = 48.0, 26.0
DATES_BELOW = 20.0


@dataclass(frozen=True)
class MarkLane:
    """One criterion: a dot a mark, joined by a line, between the lowest mark and the highest."""

    name: str
    top: float
    bottom: float
    path: str
    dots: tuple[tuple[float, float], ...]

    @property
    def title_at(self) -> float:
        return self.top - 7

    @property
    def marks(self) -> tuple[Tick, ...]:
        return Tick(self.top, str(HIGHEST_MARK)), Tick(self.bottom, "1")


@dataclass(frozen=True)
class MarksDrawing:
    """A lane a criterion over one axis of days; `ends`: its first day and its last."""

    lanes: tuple[MarkLane, ...]
    ends: tuple[date, date]
    height: float
    width: int = 360
    left: float = 24.0
    right: float = RIGHT

    @property
    def dates_at(self) -> float:
        return self.height - 5


def marks_drawing(lines: Sequence[MarkLine]) -> MarksDrawing | None:
    """None where nothing is marked, or all of it on one day."""
    days = sorted({day for line in lines for day, _ in line.marks})
    if len(days) < 2:
        return None
    first, last = days[0], days[-1]
    drawing = MarksDrawing((), (first, last), 0.0)
    inset = 8.0
    step = (drawing.right - drawing.left - 2 * inset) / (last - first).days
    lanes = []
    for place, line in enumerate(lines):
        top = LANE_GAP + place * (LANE + LANE_GAP)
        x = [drawing.left + inset + step * (day - first).days for day, _ in line.marks]
        y = [top + LANE * (HIGHEST_MARK - mark) / (HIGHEST_MARK - 1) for _, mark in line.marks]
        dots = tuple((round(px, 1), round(py, 1)) for px, py in zip(x, y, strict=True))
        lanes.append(
            MarkLane(line.name, top, top + LANE, path_data(np.array(x), np.array(y)), dots)
        )
    return MarksDrawing(tuple(lanes), (first, last), lanes[-1].bottom + DATES_BELOW)
