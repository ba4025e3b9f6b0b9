"""A schedule in the form in which a controller takes it: what is keyed, field by field.

Nothing is changed silently. What a controller can't take is keyed as the nearest that it can, with
the exact number kept beside it; a hold or a time that is too long goes on as a line more.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from math import ceil
from typing import Literal

from schedules.services.case import ROOM
from schedules.services.writing import CarriedSegment, WrittenSegment, carry
from studio.services.units import from_celsius

Field = Literal["ramp", "target", "hold"]
Kind = Literal["rate", "time", "full_power", "target", "hold"]
Part = Literal["whole", "hold", "ramp"]

FIELD_ORDERS: dict[str, tuple[Field, Field, Field]] = {
    "ramp_target_hold": ("ramp", "target", "hold"),
    "target_ramp_hold": ("target", "ramp", "hold"),
    "target_hold_ramp": ("target", "hold", "ramp"),
}
MINUTES_PER_HOUR = 60
MOST_PARTS = 200
"""In which a ramp is keyed; where even a step of the controller's takes too long, it is not parted
and its time is longer than the controller takes."""


@dataclass(frozen=True, slots=True)
class Controller:
    """How a controller is keyed, by the record of its kiln.

    Attributes
    ----------
    segments : how many it takes
    unit : "C" or "F"
    step : the smallest step of a target and of a rate, degrees of `unit`
    takes_times : whether for a ramp it wants the time to the target instead of a rate
    order : its fields in the order in which it asks for them
    hold_format : "minutes" (90), "h:mm" (1:30) or "h.mm" (1.30); times to a target are written so
        too
    longest : minutes, the longest hold or time that it takes; None for any
    full_power : what is keyed for full power; empty where that is not on record
    """

    segments: int
    unit: str = "C"
    step: Decimal = Decimal(1)
    takes_times: bool = False
    order: tuple[Field, Field, Field] = ("ramp", "target", "hold")
    hold_format: str = "minutes"
    longest: int | None = None
    full_power: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One field of a line.

    Attributes
    ----------
    field : where it stands among the fields
    kind : what it is: a ramp is a "rate", a "time" or "full_power"
    keyed : the text that is keyed; empty for a full power whose entry is not on record
    value : the same as a number: degrees of the controller's unit, per hour for a rate, minutes for
        a time or a hold; None for full power
    exact : the number that `value` was rounded from, to nine decimals; None where it is the same
    """

    field: Field
    kind: Kind
    keyed: str
    value: Decimal | None
    exact: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A segment as the controller counts them.

    Attributes
    ----------
    number : from 1, on the controller
    position : from 1, of the segment in the schedule
    entries : in the order of the controller's fields
    part : "whole", or what was too long and goes on in parts: the "hold" or the "ramp"
    part_number, parts : which of how many
    """

    number: int
    position: int
    entries: tuple[Entry, Entry, Entry]
    part: Part = "whole"
    part_number: int = 1
    parts: int = 1


@dataclass(frozen=True)
class Card:
    """All lines of a schedule, and each of its segments as it was `written` and is `keyed`.

    `keyed` is in the controller's unit; where times are keyed, with the rates that they come to.
    """

    lines: tuple[Line, ...]
    keyed: tuple[WrittenSegment, ...]
    controller: Controller

    @property
    def fits(self) -> bool:
        """Whether the controller takes so many lines."""
        return len(self.lines) <= self.controller.segments


def key_in(written: Sequence[WrittenSegment], unit: str, controller: Controller) -> Card:
    """What is keyed for a schedule.

    A time to a target is counted from the target before, for the first segment from 20 °C even if
    the kiln is still warm, so that no ramp is faster than written; it is rounded up to the minute.
    A ramp or a hold beyond the controller's longest goes on in as few parts as it takes.

    Parameters
    ----------
    written : in `unit`
    unit : "C" or "F", in which the schedule was written
    controller : see `Controller`

    Returns
    -------
    Card; empty for no segments.

    Raises
    ------
    ValueError
        For another unit, and for a step that is not positive.

    Examples
    --------
    >>> fuse = [WrittenSegment(Decimal(300), Decimal(1480), Decimal(90))]
    >>> [line] = key_in(fuse, "F", Controller(8, hold_format="h.mm")).lines
    >>> [(entry.keyed, entry.exact is not None) for entry in line.entries]
    [('167', True), ('804', True), ('1.30', False)]
    >>> [line] = key_in(fuse, "F", Controller(8, "F", takes_times=True)).lines
    >>> [entry.keyed for entry in line.entries]  # (1480 − 68) / 300 h are 282.4 min
    ['283', '1480', '90']
    """
    carried = carry(written, unit, controller.unit, controller.step)
    start = _decimal(from_celsius(ROOM, controller.unit))
    lines: list[Line] = []
    keyed: list[WrittenSegment] = []
    exact_before = keyed_before = start
    for position, one in enumerate(carried, start=1):
        exact = _exact_target(one)
        distance = max(abs(exact - exact_before), abs(one.keyed.target - keyed_before))
        made, rate = _lines_of(position, one, keyed_before, distance, controller)
        lines += made
        keyed.append(replace(one.keyed, rate=rate))
        exact_before, keyed_before = exact, one.keyed.target
    numbered = tuple(replace(line, number=number) for number, line in enumerate(lines, start=1))
    return Card(numbered, tuple(keyed), controller)


def written_time(minutes: Decimal | int, hold_format: str) -> str:
    """A hold or a time as a controller shows it.

    Examples
    --------
    >>> [written_time(90, each) for each in ("minutes", "h:mm", "h.mm")]
    ['90', '1:30', '1.30']
    """
    if hold_format == "minutes":
        return _text(Decimal(minutes))
    hours, rest = divmod(int(minutes), MINUTES_PER_HOUR)
    return f"{hours}{hold_format[1]}{rest:02d}"


def _lines_of(
    position: int, one: CarriedSegment, before: Decimal, distance: Decimal, controller: Controller
) -> tuple[list[Line], Decimal | None]:
    """A segment's lines, and the rate at which it is keyed."""
    ramps = _ramps(one, before, distance, controller)
    holds = _hold_parts(one.keyed.hold_minutes, controller.longest)
    fields = [(ramp, target, Decimal(0)) for ramp, target in ramps[:-1]]
    last, target = ramps[-1]
    fields.append((last, target, holds[0]))
    again = _timed(Decimal(0), Decimal(0), controller) if last.kind == "time" else last
    fields += [(again, target, hold) for hold in holds[1:]]
    lines = []
    for number, (ramp, goal, hold) in enumerate(fields, start=1):
        entries = (ramp, _target(one, goal), _hold(hold, controller))
        line = Line(0, position, _ordered(entries, controller))
        if number < len(ramps) or (len(ramps) > 1 and len(holds) == 1):
            line = replace(line, part="ramp", part_number=number, parts=len(ramps))
        elif len(holds) > 1:
            at = number - len(ramps) + 1
            line = replace(line, part="hold", part_number=at, parts=len(holds))
        lines.append(line)
    return lines, _keyed_rate(one, before, [ramp for ramp, _ in ramps])


def _ramps(
    one: CarriedSegment, before: Decimal, distance: Decimal, controller: Controller
) -> list[tuple[Entry, Decimal]]:
    """What is keyed for a segment's ramp, with the target of each of its parts."""
    target = one.keyed.target
    if one.keyed.rate is None:
        return [(Entry("ramp", "full_power", controller.full_power, None), target)]
    if not controller.takes_times:
        return [(_rate(one), target)]
    rate = _exact(one, "rate", one.keyed.rate) / MINUTES_PER_HOUR
    whole = distance / rate
    longest = controller.longest
    if longest is None or _rounded_up(whole) <= longest:
        return [(_timed(_rounded_up(whole), whole, controller), target)]
    for count in range(ceil(whole / longest), MOST_PARTS):
        goals = _on_the_way(before, target, count, controller.step)
        times = [abs(b - a) / rate for a, b in zip([before, *goals], goals, strict=False)]
        if max(map(_rounded_up, times)) <= longest:
            timed = [_timed(_rounded_up(time), time, controller) for time in times]
            return list(zip(timed, goals, strict=True))
    return [(_timed(_rounded_up(whole), whole, controller), target)]


def _keyed_rate(one: CarriedSegment, before: Decimal, ramps: Sequence[Entry]) -> Decimal | None:
    """The rate that is keyed, or that the times come to where one was rounded."""
    if one.keyed.rate is None or all(ramp.kind != "time" or ramp.exact is None for ramp in ramps):
        return one.keyed.rate
    minutes = sum((ramp.value or Decimal(0) for ramp in ramps), Decimal(0))
    rate = abs(one.keyed.target - before) / minutes * MINUTES_PER_HOUR
    return rate.quantize(Decimal("0.01")) or one.keyed.rate


def _ordered(entries: tuple[Entry, ...], controller: Controller) -> tuple[Entry, Entry, Entry]:
    by_field = {entry.field: entry for entry in entries}
    first, second, third = controller.order
    return by_field[first], by_field[second], by_field[third]


def _rounded_up(minutes: Decimal) -> Decimal:
    return minutes.quantize(Decimal("1e-9")).to_integral_value(ROUND_CEILING)


def _on_the_way(before: Decimal, target: Decimal, count: int, step: Decimal) -> list[Decimal]:
    """Targets in equal parts, on the controller's steps."""
    way = (target - before) / count
    between = [
        (((before + way * number) / step).quantize(Decimal(1), ROUND_HALF_UP) * step)
        for number in range(1, count)
    ]
    return [*between, target]


def _hold_parts(minutes: Decimal, longest: int | None) -> list[Decimal]:
    if longest is None:
        return [minutes]
    parts = []
    while minutes > longest:
        parts.append(Decimal(longest))
        minutes -= longest
    return [*parts, minutes]


def _rate(one: CarriedSegment) -> Entry:
    value = one.keyed.rate or Decimal(0)
    return Entry("ramp", "rate", _text(value), value, _rounded(one, "rate"))


def _timed(minutes: Decimal, exact: Decimal, controller: Controller) -> Entry:
    was = exact.quantize(Decimal("1e-9"))
    text = written_time(minutes, controller.hold_format)
    return Entry("ramp", "time", text, minutes, None if was == minutes else was)


def _target(one: CarriedSegment, target: Decimal) -> Entry:
    exact = _rounded(one, "target") if target == one.keyed.target else None
    return Entry("target", "target", _text(target), target, exact)


def _hold(minutes: Decimal, controller: Controller) -> Entry:
    return Entry("hold", "hold", written_time(minutes, controller.hold_format), minutes)


def _rounded(one: CarriedSegment, field: str) -> Decimal | None:
    return next((each.exact for each in one.roundings if each.field == field), None)


def _exact(one: CarriedSegment, field: str, keyed: Decimal) -> Decimal:
    rounded = _rounded(one, field)
    return keyed if rounded is None else rounded


def _exact_target(one: CarriedSegment) -> Decimal:
    return _exact(one, "target", one.keyed.target)


def _text(value: Decimal) -> str:
    return f"{value.normalize():f}"


def _decimal(value: float) -> Decimal:
    return Decimal(value).quantize(Decimal("1e-9"))
