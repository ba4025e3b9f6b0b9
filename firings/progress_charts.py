"""A student's verdicts in order, beside their instructor's, drawn on the server."""

from collections.abc import Sequence
from dataclasses import dataclass

from firings.models import LoadedPiece
from schedules.axes import Tick

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
