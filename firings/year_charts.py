"""A year drawn on the server: a bar a month, parted by kiln."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from firings.queries.year import KilnYear, StudioYear, Sum
from schedules.axes import Tick, round_step

LEFT, RIGHT, TOP, BOTTOM = 44.0, 350.0, 12.0, 172.0
SHARE_OF_MONTH = 0.62
LOOKS = ("filled", "pale", "plain")
"""In turn: bars are told apart without colours of their own, and the table says the same."""
FEWEST, STEPS = 4.0, 4

MEASURES: dict[str, Callable[[Sum], float]] = {
    "firings": lambda month: float(month.firings),
    "hours": lambda month: month.hours,
    "energy": lambda month: month.all_kwh,
}


@dataclass(frozen=True)
class Bar:
    """A kiln's share of one month, filled as `LOOKS` has it for its place among the kilns."""

    x: float
    y: float
    width: float
    height: float
    look: str


@dataclass(frozen=True)
class MonthDrawing:
    bars: tuple[Bar, ...]
    months: tuple[Tick, ...]
    counts: tuple[Tick, ...]
    width: int = 360
    height: int = 200
    left: float = LEFT
    right: float = RIGHT
    bottom: float = BOTTOM

    @property
    def below(self) -> float:
        return self.bottom + 18


@dataclass(frozen=True)
class MeasuredYear:
    """One of `MEASURES` by kiln and month: drawn, and as rows of figures, the year's at the end."""

    measure: str
    drawing: MonthDrawing
    rows: tuple[tuple[KilnYear, tuple[float, ...]], ...]
    all_rows: tuple[float, ...]


def measured_years(shown: StudioYear) -> list[MeasuredYear]:
    """One for each of `MEASURES`; none without a kiln."""
    if not shown.kilns:
        return []
    return [
        MeasuredYear(
            measure,
            month_drawing(shown.kilns, shown.first_days, amount),
            tuple(
                (kiln, tuple(amount(each) for each in (*kiln.months, kiln.whole)))
                for kiln in shown.kilns
            ),
            tuple(amount(each) for each in (*shown.months, shown.whole)),
        )
        for measure, amount in MEASURES.items()
    ]


def month_drawing(
    kilns: Sequence[KilnYear], first_days: Sequence[date], amount: Callable[[Sum], float]
) -> MonthDrawing:
    totals = [sum(amount(kiln.months[n]) for kiln in kilns) for n in range(len(first_days))]
    step = max(round_step(max(FEWEST, *totals) / STEPS), 1.0)
    most = step * -(-max(FEWEST, *totals) // step)
    each = (RIGHT - LEFT) / len(first_days)
    scale = (BOTTOM - TOP) / most
    wide = each * SHARE_OF_MONTH
    bars = []
    for month in range(len(first_days)):
        y, x = BOTTOM, LEFT + each * month + (each - wide) / 2
        for look, kiln in zip(looks_of(kilns), kilns, strict=True):
            height = amount(kiln.months[month]) * scale
            y -= height
            if height:
                bars.append(Bar(round(x, 1), round(y, 1), round(wide, 1), round(height, 1), look))
    return MonthDrawing(
        bars=tuple(bars),
        months=tuple(
            Tick(round(LEFT + each * (n + 0.5), 1), f"{day:%b}"[0])
            for n, day in enumerate(first_days)
        ),
        counts=tuple(
            Tick(round(BOTTOM - step * n * scale, 1), f"{step * n:.0f}")
            for n in range(int(most / step) + 1)
        ),
    )


def looks_of(kilns: Sequence[KilnYear]) -> list[str]:
    return [LOOKS[place % len(LOOKS)] for place in range(len(kilns))]
