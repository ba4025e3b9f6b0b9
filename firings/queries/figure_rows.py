"""The figures of firings that lie side by side, as texts that tell where they differ."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from firings.models import AlsoChanged, FiringState, LoadedPiece
from firings.queries.one_side import Side
from studio import formats

SMALLEST_RATIO = 0.01
OF_GLASS_ALONE = {"soak_planned", "soak_recorded", "cooling_planned", "cooling_recorded"}
NO_GLASS = "no glass"


@dataclass(frozen=True)
class Cell:
    """A figure as it reads; `value` is the core's, or the text itself. None was not recorded."""

    side: Side
    text: str | None
    value: object
    differs: bool = False


@dataclass(frozen=True)
class FigureRow:
    """One figure of all firings; its `name` stands in `firings.wording`."""

    name: str
    kind: str
    cells: tuple[Cell, ...]

    @property
    def is_same(self) -> bool:
        texts = {cell.text for cell in self.cells}
        return len(texts) == 1 and None not in texts

    @property
    def is_unknown(self) -> bool:
        return all(cell.text is None for cell in self.cells)

    @property
    def said(self) -> str | None:
        """What is the same in all of them."""
        return self.cells[0].text


def figure_rows(sides: Sequence[Side], unit: str, weighed_by: Side | None) -> Iterator[FigureRow]:
    """A row a figure, its texts in `unit`; heat work is held against that of `weighed_by`.

    What only glass has is left out where none of them fired glass.
    """
    of_glass = any(side.is_glass for side in sides)
    for name, kind, read in FIGURES:
        if name not in OF_GLASS_ALONE:
            yield _row(name, kind, [read(side) for side in sides], sides, unit)
        elif of_glass:
            values = [read(side) if side.is_glass else NO_GLASS for side in sides]
            yield _row(name, kind, values, sides, unit)
        if name == "hold_recorded" and weighed_by is not None:
            yield _row("heat_work", "ratio", _ratios(sides, weighed_by), sides, unit)


def _ratios(sides: Sequence[Side], weighed_by: Side) -> list[object]:
    unit_work = weighed_by.heat_work or 1.0
    return [
        NO_GLASS
        if not side.is_glass
        else None
        if side.heat_work is None
        else side.heat_work / unit_work
        for side in sides
    ]


def _row(
    name: str, kind: str, values: Sequence[object], sides: Sequence[Side], unit: str
) -> FigureRow:
    texts = [None if value in (None, "") else _text(kind, value, unit) for value in values]
    return FigureRow(
        name,
        kind,
        tuple(
            Cell(side, text, value, differs=None not in (text, texts[0]) and text != texts[0])
            for side, text, value in zip(sides, texts, values, strict=True)
        ),
    )


def _text(kind: str, value: object, unit: str) -> str:
    if not isinstance(value, float | int):
        return str(value)
    match kind:
        case "temperature":
            return formats.temperature(value, unit)
        case "rate":
            return formats.rate(value, unit)
        case "duration":
            return formats.duration(value)
        case "ratio" if value < SMALLEST_RATIO:
            return f"under {SMALLEST_RATIO}"
        case "ratio" if value > 1 / SMALLEST_RATIO:
            return f"over {1 / SMALLEST_RATIO:.0f}"
    return f"{value:.2f}"


def _schedule(side: Side) -> str:
    return side.firing.revision.schedule.name


def _verdict(side: Side) -> str | None:
    if side.firing.state != FiringState.OPENED:
        return side.firing.get_state_display()
    if side.shown is None:
        return None
    return side.shown.get_verdict_display() if side.is_judged else "not judged yet"


def _other_verdicts(side: Side) -> str | None:
    """Of the pieces beside the one shown."""
    if not side.pieces:
        return None
    others = side.pieces[1:]
    told = [
        f"{loaded.piece.title}: {loaded.get_verdict_display()}"
        for loaded in others
        if loaded.verdict is not None
    ]
    return "; ".join(told) or ("not judged yet" if others else "none")


def _faults(side: Side) -> str | None:
    if side.shown is None or side.firing.state != FiringState.OPENED:
        return None
    kinds = [
        f"{fault.get_kind_display()} ({fault.get_severity_display()})"
        for loaded in side.pieces
        for fault in loaded.faults.all()
    ]
    if kinds:
        return "; ".join(dict.fromkeys(kinds))
    return "none noted" if any(each.verdict is not None for each in side.pieces) else None


def _also_changed(side: Side) -> str | None:
    if side.is_kept:
        return None
    codes = [code for code in side.firing.also_changed if code in AlsoChanged]
    told = [AlsoChanged(code).label for code in codes]
    return "; ".join([*told, *filter(None, [side.firing.also_changed_note])]) or "nothing noted"


def _events(side: Side) -> str:
    kinds = [event.get_kind_display() for event in side.firing.events.all()]
    return "; ".join(dict.fromkeys(kinds)) or "nothing noted"


def _thickness(side: Side) -> str | None:
    shown = side.shown
    if shown is None or shown.thickest_mm is None:
        return None
    return f"{formats.number(shown.thickest_mm, 1)}{formats.NO_BREAK}mm"


def _planned_duration(side: Side) -> object:
    return side.curve.duration or "a target is out of its reach"


def _planned_cooling(side: Side) -> object:
    return side.comparison.cooling.planned or "as the kiln cools"


def _of_piece(read: Callable[[LoadedPiece], object]) -> Callable[[Side], object]:
    return lambda side: None if side.shown is None else read(side.shown)


FIGURES: tuple[tuple[str, str, Callable[[Side], object]], ...] = (
    ("verdict", "verdict", _verdict),
    ("faults", "words", _faults),
    ("other_verdicts", "words", _other_verdicts),
    ("peak_planned", "temperature", lambda side: side.curve.peak),
    ("peak_recorded", "temperature", lambda side: side.peak),
    ("hold_planned", "duration", lambda side: side.top.hold),
    ("hold_recorded", "duration", lambda side: side.hold),
    ("duration_planned", "duration", _planned_duration),
    ("duration_recorded", "duration", lambda side: side.duration),
    ("soak_planned", "duration", lambda side: side.soak_planned),
    ("soak_recorded", "duration", lambda side: side.soak),
    ("cooling_planned", "rate", _planned_cooling),
    ("cooling_recorded", "rate", lambda side: side.comparison.cooling.recorded),
    ("opened", "temperature", lambda side: side.firing.opened_temperature_c),
    ("also_changed", "words", _also_changed),
    ("events", "words", _events),
    ("place", "words", _of_piece(lambda loaded: loaded.place and loaded.place.name)),
    ("piece", "words", _of_piece(lambda loaded: loaded.piece.title)),
    ("glass", "words", _of_piece(lambda loaded: loaded.glass and str(loaded.glass))),
    ("thickness", "words", _thickness),
    ("mould", "words", _of_piece(lambda loaded: loaded.get_mould_display())),
    ("kiln", "words", lambda side: side.firing.kiln.name),
    ("schedule", "words", _schedule),
    ("revision", "words", lambda side: f"revision {side.firing.revision.number}"),
    ("fired_by", "words", lambda side: side.firing.fired_by.name),
)
