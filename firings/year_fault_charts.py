"""The faults of a year drawn on the server: bars of pieces, and of those with a fault."""

from collections.abc import Sequence
from dataclasses import dataclass

from firings.queries.year import StudioYear
from firings.queries.year_faults import FaultRow

ROWS_DRAWN, LONGEST_NAME = 8, 44
ROW, NAME_AT, BAR_AT, BAR_HEIGHT, LONGEST_BAR = 38.0, 14.0, 20.0, 11.0, 280.0


@dataclass(frozen=True)
class FaultBar:
    """Its pieces as a pale bar, those with a fault filled, and both as words beside it."""

    name: str
    words: str
    name_y: float
    bar_y: float
    words_y: float
    words_x: float
    pieces: float
    faulty: float


@dataclass(frozen=True)
class FaultDrawing:
    bars: tuple[FaultBar, ...]
    height: float
    bar_height: float = BAR_HEIGHT
    width: int = 360


def fault_drawing(rows: Sequence[FaultRow]) -> FaultDrawing:
    """Of the first `ROWS_DRAWN` rows, on one scale of pieces."""
    drawn = rows[:ROWS_DRAWN]
    scale = LONGEST_BAR / max((row.pieces for row in drawn), default=1)
    bars = []
    for place, row in enumerate(drawn):
        top = place * ROW
        bars.append(
            FaultBar(
                name=row.name
                if len(row.name) <= LONGEST_NAME
                else row.name[: LONGEST_NAME - 1].rstrip() + "…",
                words=f"{row.faulty} of {row.pieces}",
                name_y=top + NAME_AT,
                bar_y=top + BAR_AT,
                words_y=top + BAR_AT + BAR_HEIGHT,
                words_x=round(row.pieces * scale, 1) + 6,
                pieces=round(row.pieces * scale, 1),
                faulty=round(row.faulty * scale, 1),
            )
        )
    return FaultDrawing(tuple(bars), height=len(drawn) * ROW)


@dataclass(frozen=True)
class DrawnFaults:
    """Faults by one subject, as rows and drawn."""

    subject: str
    rows: list[FaultRow]
    drawing: FaultDrawing


def drawn_faults(shown: StudioYear) -> list[DrawnFaults]:
    return [
        DrawnFaults(subject, rows[:ROWS_DRAWN], fault_drawing(rows))
        for subject, rows in shown.faults.items()
    ]
