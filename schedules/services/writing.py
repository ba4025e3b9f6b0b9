"""A schedule as it is written, in °C or °F, and how it is carried from one to the other.

What is written is kept as decimals, so that it never drifts. Carrying rounds to what a controller
takes, and says so: targets are converted as temperatures, rates as differences, holds not at all.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from schedules.services.curve import Segment
from studio.services.units import from_celsius, rate_from_celsius, rate_to_celsius, to_celsius

SECONDS_PER_MINUTE = 60

_HUNDREDTH = Decimal("0.01")
_FLOAT_NOISE = Decimal("1e-9")
"""What is smaller than this in a converted number comes from binary fractions."""


@dataclass(frozen=True, slots=True)
class WrittenSegment:
    """A segment in the unit in which somebody wrote it.

    Parameters
    ----------
    rate : degrees per hour, or None for full power
    target : degrees
    hold_minutes : min
    """

    rate: Decimal | None
    target: Decimal
    hold_minutes: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Rounding:
    """A number that what is keyed does not quite meet, in the new unit.

    `exact` is what the written number is worth (to nine decimals), `keyed` what the controller
    takes, `difference` is keyed − exact.
    """

    field: Literal["rate", "target"]
    exact: Decimal
    keyed: Decimal

    @property
    def difference(self) -> Decimal:
        return self.keyed - self.exact


@dataclass(frozen=True, slots=True)
class CarriedSegment:
    """A segment as it was `written`, as it is `keyed`, and each rounding between the two."""

    written: WrittenSegment
    keyed: WrittenSegment
    roundings: tuple[Rounding, ...]


def carry(
    segments: Sequence[WrittenSegment],
    from_unit: str,
    to_unit: str,
    resolution: Decimal | float | str = Decimal(1),
    *,
    rate_resolution: Decimal | float | str | None = None,
) -> list[CarriedSegment]:
    """A schedule in another unit, in steps that a controller takes.

    Halves are rounded up. A rate is never rounded to nothing: it is at least one step.

    Parameters
    ----------
    segments : in `from_unit`
    from_unit, to_unit : "C" or "F"; the same for a change of resolution alone
    resolution : smallest step of the controller, in degrees of `to_unit`
    rate_resolution : smallest step of a rate, in degrees of `to_unit` per hour; by default as
        `resolution`

    Returns
    -------
    One CarriedSegment for each segment, in their order.

    Raises
    ------
    ValueError
        For another unit, or a resolution that is not positive.

    Examples
    --------
    >>> [carried] = carry([WrittenSegment(Decimal(300), Decimal(1480), Decimal(10))], "F", "C")
    >>> carried.keyed
    WrittenSegment(rate=Decimal('167'), target=Decimal('804'), hold_minutes=Decimal('10'))
    >>> [(r.field, round(r.difference, 2)) for r in carried.roundings]
    [('rate', Decimal('0.33')), ('target', Decimal('-0.44'))]
    """
    step = _step(resolution)
    rate_step = step if rate_resolution is None else _step(rate_resolution)
    return [_carry_one(each, from_unit, to_unit, step, rate_step) for each in segments]


def to_core(written: Sequence[WrittenSegment], unit: str) -> list[Segment]:
    """Written segments in the core's units: °C/h, °C, s.

    Parameters
    ----------
    written : in `unit`
    unit : "C" or "F"

    Raises
    ------
    ValueError
        For another unit.

    Examples
    --------
    >>> to_core([WrittenSegment(None, Decimal("804"), Decimal("10"))], "C")
    [Segment(rate=None, target=804.0, hold=600.0)]
    """
    return [
        Segment(
            None if each.rate is None else rate_to_celsius(float(each.rate), unit),
            to_celsius(float(each.target), unit),
            float(each.hold_minutes * SECONDS_PER_MINUTE),
        )
        for each in written
    ]


def rewritten(
    segments: Sequence[Segment], written: Sequence[WrittenSegment], unit: str
) -> list[WrittenSegment]:
    """Changed segments as somebody would write them: numbers that were written before stay as they
    were, to the last digit, and new ones are written to a hundredth of a degree.

    Parameters
    ----------
    segments : after the change, in °C/h, °C and s
    written : before it, in `unit`
    unit : "C" or "F"

    Raises
    ------
    ValueError
        For another unit.

    Examples
    --------
    >>> before = [WrittenSegment(Decimal("6.70"), Decimal("482"), Decimal(38))]
    >>> [now] = to_core(before, "C")
    >>> rewritten([Segment(now.rate, now.target, 3600.0)], before, "C")
    [WrittenSegment(rate=Decimal('6.70'), target=Decimal('482'), hold_minutes=Decimal('60'))]
    """
    rates: dict[float | None, Decimal | None] = {None: None}
    targets: dict[float, Decimal] = {}
    holds: dict[float, Decimal] = {}
    for core, own in zip(to_core(written, unit), written, strict=True):
        rates[core.rate], targets[core.target] = own.rate, own.target
        holds[core.hold] = own.hold_minutes
    result = []
    for each in segments:
        rate, target, hold = each.rate, each.target, each.hold
        if rate is not None and rate not in rates:
            rates[rate] = _written(rate_from_celsius(rate, unit))
        if target not in targets:
            targets[target] = _written(from_celsius(target, unit))
        if hold not in holds:
            holds[hold] = _written(hold / SECONDS_PER_MINUTE)
        result.append(WrittenSegment(rates[rate], targets[target], holds[hold]))
    return result


def _written(value: float) -> Decimal:
    """To a hundredth, without digits that say nothing."""
    exact = Decimal(value).quantize(_HUNDREDTH).normalize()
    return exact.quantize(Decimal(1)) if exact == exact.to_integral_value() else exact


def _carry_one(
    written: WrittenSegment, from_unit: str, to_unit: str, step: Decimal, rate_step: Decimal
) -> CarriedSegment:
    roundings = []
    target = _worth(written.target, from_unit, to_unit, is_rate=False)
    keyed_target = _to_step(target, step)
    keyed_rate = None
    if written.rate is not None:
        rate = _worth(written.rate, from_unit, to_unit, is_rate=True)
        keyed_rate = max(_to_step(rate, rate_step), rate_step)
        if keyed_rate != rate:
            roundings.append(Rounding("rate", rate, keyed_rate))
    if keyed_target != target:
        roundings.append(Rounding("target", target, keyed_target))
    keyed = WrittenSegment(keyed_rate, keyed_target, written.hold_minutes)
    return CarriedSegment(written, keyed, tuple(roundings))


def _worth(value: Decimal, from_unit: str, to_unit: str, *, is_rate: bool) -> Decimal:
    if from_unit == to_unit:
        to_celsius(0.0, from_unit)  # refuses what is no unit
        return value
    if is_rate:
        result = rate_from_celsius(rate_to_celsius(float(value), from_unit), to_unit)
    else:
        result = from_celsius(to_celsius(float(value), from_unit), to_unit)
    return Decimal(result).quantize(_FLOAT_NOISE)


def _step(resolution: Decimal | float | str) -> Decimal:
    step = Decimal(str(resolution))
    if not (step.is_finite() and step > 0):
        raise ValueError(f"A controller's smallest step is a positive number, not {resolution}.")
    # No more decimals than the step needs: 1.00 keys 804, not 804.00.
    step = step.normalize()
    return step.quantize(Decimal(1)) if step == step.to_integral_value() else step


def _to_step(value: Decimal, step: Decimal) -> Decimal:
    return (value / step).quantize(Decimal(1), rounding=ROUND_HALF_UP) * step
