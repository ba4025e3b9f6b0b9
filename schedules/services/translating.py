"""A schedule for another kiln: what its offset, its power, its cooling and its controller change.

A controller keeps to what its own thermocouple says. Where another kiln's display lies apart from
the glass by another offset, the top is keyed otherwise for the same glass; a rate is a difference
and never moves. An offset that was found near the top says nothing of the anneal.
"""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from schedules.services.annealing_rules import anneal_soaks, first_of_the_way_down
from schedules.services.case import Case, KilnLimits, Load
from schedules.services.curve import Curve, Segment, planned_curve
from schedules.services.keyable import hold_parts
from schedules.services.merging import Merging, merges
from schedules.services.translated import HeatWorks, Part, Ramp, TranslatedSegment, Translation
from schedules.services.writing import (
    SECONDS_PER_MINUTE,
    WrittenSegment,
    carry,
    rewritten,
    to_core,
)
from studio.services.glass import Glass, fluidity
from studio.services.kiln_response import SECONDS_PER_HOUR, KilnResponse
from studio.services.units import rate_from_celsius

NEAR_THE_TOP = 25.0
"""°C below the peak down to which a target moves with it: what was found at the one still holds at
the other (common practice, no source)."""
SHORTEST_HOLD = 0.25
"""Of the hold at the top as it is written: where less would do, the top is keyed lower instead (our
own estimate; a hold that short can't be stopped in time)."""
MOST_LOWER = 40.0
"""°C by which it is at the most."""
_NOISE = 6
"""Decimals of a step or a shift that are more than binary noise."""


def translate(
    written: Sequence[WrittenSegment],
    unit: str,
    process: str,
    load: Load,
    source: KilnLimits,
    target: KilnLimits,
    *,
    soak_shift: float | None = None,
    fit_hold: bool = True,
    way: int = 0,
) -> Translation:
    """A schedule that was written for one kiln, for another.

    The top moves by the difference of the two offsets. The anneal soak moves by `soak_shift` alone;
    where the top is the anneal, the top too. Numbers are rounded to the other controller's steps, a
    hold that it can't take is written in parts, and segments are merged where it takes fewer. Then
    the hold at the top is made longer or shorter by the heat work that a slower or faster approach
    takes from it or adds; where so little of it would be left, the top is keyed lower first.

    Parameters
    ----------
    written : the schedule, in `unit`
    unit : "C" or "F"
    process : code of the process, as "full_fuse"
    load : what it is written for
    source, target : the two kilns, with their responses
    soak_shift : °C by which the soak is to be keyed hotter, where that is known near it
    fit_hold : False keeps the hold at the top as it is written
    way : which of the ways that `merges` finds is taken

    Raises
    ------
    ValueError
        For a kiln without a response; and as `to_core` and `planned_curve`.

    Examples
    --------
    >>> kiln = KilnLimits(930.0, response=KilnResponse(1250.0, 4950.0, 12_600.0))
    >>> hot = replace(kiln, offset=12.0)
    >>> fuse = [WrittenSegment(Decimal(300), Decimal(804), Decimal(10)),
    ...         WrittenSegment(None, Decimal(482), Decimal(60))]
    >>> there = translate(fuse, "C", "full_fuse", Load(Glass(493.0, 532.0, 677.0)), kiln, hot)
    >>> [str(each.written.target) for each in there.segments], there.soak_shift
    (['792', '482'], None)
    >>> round(there.heat_works.unshifted_ratio, 1)
    1.5
    """
    if source.response is None or target.response is None:
        raise ValueError("A schedule is translated between kilns whose responses are known.")
    core = to_core(written, unit)
    parts = _parts(Case(tuple(core), process, load, source))
    top_shift = source.offset - target.offset
    shifts = {"top": top_shift, "soak": soak_shift or 0.0, "other": 0.0}
    carried = carry(
        [_shifted(one, shifts[part], unit) for one, part in zip(written, parts, strict=True)],
        unit,
        target.unit,
        _step(target),
    )
    plan = [
        TranslatedSegment(one.keyed, (index,), parts[index], one.roundings)
        for index, one in enumerate(carried)
    ]
    plan = [each for one in plan for each in _in_parts(one, target.longest_hold)]
    offered = _offered(plan, target)
    merging = offered[min(max(way, 0), len(offered) - 1)] if offered else None
    if merging is not None:
        plan = _merged(plan, merging, target.unit)
    works = None
    hold_change = peak_fit = 0.0
    if _is_worked(process):
        works = _heat_works(core, plan, load.glass, source, target)
    if works is not None and fit_hold:
        if _hold_lacks(plan, works, load.glass, target) < (SHORTEST_HOLD - 1) * _held(plan):
            plan, peak_fit = _with_lower_top(plan, works.wanted, load.glass, target)
            works = replace(works, translated=_work_of(plan, load.glass, target))
        plan, hold_change = _with_fitted_hold(plan, works, load.glass, target)
        works = replace(works, translated=_work_of(plan, load.glass, target))
    before = planned_curve(core, source.response)
    after = planned_curve(to_core([each.written for each in plan], target.unit), target.response)
    return Translation(
        segments=tuple(plan),
        unit=target.unit,
        top_shift=top_shift,
        soak_shift=soak_shift,
        hold_change=hold_change,
        peak_fit=peak_fit,
        heat_works=works,
        offered=offered,
        merging=merging,
        fits=target.segments is None or len(plan) <= target.segments,
        before=before,
        after=after,
        ramps=_ramps(plan, before, after),
    )


def heat_work_in_the_glass(
    segments: Sequence[Segment], response: KilnResponse, offset: float, glass: Glass
) -> float | None:
    """Heat work, 1/Pa, of a schedule by a display that lies `offset` °C below the glass; None where
    the kiln does not reach a target.

    Examples
    --------
    >>> kiln = KilnResponse(1250.0, 4950.0, 12_600.0)
    >>> fuse = [Segment(300.0, 804.0, 600.0), Segment(None, 482.0, 3600.0)]
    >>> works = [heat_work_in_the_glass(fuse, kiln, each, Glass()) for each in (0.0, 12.0)]
    >>> round(works[1] / works[0], 1)
    1.5
    """
    felt = replace(
        response,
        full_power_limit=response.full_power_limit + offset,
        ambient=response.ambient + offset,
        slow_cooling_below=response.slow_cooling_below + offset,
    )
    curve = planned_curve([replace(one, target=one.target + offset) for one in segments], felt)
    return None if curve.unreached is not None else curve.heat_work(glass)


def soaks_of(segments: Sequence[Segment], process: str, load: Load, kiln: KilnLimits) -> list[int]:
    """Indexes of the segments that are the anneal soak, the top included where it is the anneal.

    Examples
    --------
    >>> kiln = KilnLimits(930.0)
    >>> soaks_of([Segment(100.0, 516.0, 3600.0)], "anneal_only", Load(), kiln)
    [0]
    """
    parts = _parts(Case(tuple(segments), process, load, kiln))
    return [index for index, part in enumerate(parts) if part == "soak"]


def _parts(case: Case) -> list[Part]:
    if not case.segments:
        return []
    soaks = set(anneal_soaks(case)) if case.is_glass else set()
    peak = case.segments[case.top].target
    top_is_anneal = first_of_the_way_down(case) == case.top

    def part_of(index: int) -> Part:
        near_the_top = case.segments[index].target >= peak - NEAR_THE_TOP
        if index in soaks or (near_the_top and top_is_anneal):
            return "soak"
        return "top" if near_the_top else "other"

    return [part_of(index) for index in range(len(case.segments))]


def _is_worked(process: str) -> bool:
    """Whether heat work says how it comes out: not of an anneal, nor of metal clay."""
    return process not in ("anneal_only", "bead_anneal", "metal_clay")


def _shifted(one: WrittenSegment, shift: float, unit: str) -> WrittenSegment:
    if not shift:
        return one
    moved = Decimal(str(round(float(rate_from_celsius(shift, unit)), _NOISE)))
    return replace(one, target=one.target + moved)


def _in_parts(one: TranslatedSegment, longest: float | None) -> list[TranslatedSegment]:
    first, *rest = (
        Decimal(round(hold / SECONDS_PER_MINUTE))
        for hold in hold_parts(float(one.written.hold_minutes) * SECONDS_PER_MINUTE, longest)
    )
    whole = replace(one, written=replace(one.written, hold_minutes=first))
    more = [
        replace(one, written=replace(one.written, rate=None, hold_minutes=hold), roundings=())
        for hold in rest
    ]
    return [whole, *more]


def _offered(plan: Sequence[TranslatedSegment], target: KilnLimits) -> tuple[Merging, ...]:
    if target.segments is None:
        return ()
    return merges(
        to_core([each.written for each in plan], target.unit),
        target.segments,
        target.response,
        longest_hold=target.longest_hold,
    )


def _merged(
    plan: Sequence[TranslatedSegment], merging: Merging, unit: str
) -> list[TranslatedSegment]:
    together = {step.segments[-1]: step.segments for step in merging.steps}
    gone = {
        index
        for step in merging.steps
        for index in (step.segments if step.kind == "left_out" else step.segments[:-1])
    }
    kept = [index for index in range(len(plan)) if index not in gone]
    written = rewritten(merging.segments, [each.written for each in plan], unit)
    return [
        replace(
            plan[index],
            written=now,
            made_of=tuple(
                dict.fromkeys(
                    source for own in together.get(index, (index,)) for source in plan[own].made_of
                )
            ),
        )
        for index, now in zip(kept, written, strict=True)
    ]


def _work_of(plan: Sequence[TranslatedSegment], glass: Glass, kiln: KilnLimits) -> float:
    assert kiln.response is not None  # noqa: S101 - `translate` refuses it
    core = to_core([each.written for each in plan], kiln.unit)
    work = heat_work_in_the_glass(core, kiln.response, kiln.offset, glass)
    assert work is not None  # noqa: S101 - another hold leaves a target where it is
    return work


def _heat_works(
    core: Sequence[Segment],
    plan: Sequence[TranslatedSegment],
    glass: Glass,
    source: KilnLimits,
    target: KilnLimits,
) -> HeatWorks | None:
    assert source.response is not None and target.response is not None  # noqa: S101, PT018
    there = to_core([each.written for each in plan], target.unit)
    wanted = heat_work_in_the_glass(core, source.response, source.offset, glass)
    unshifted = heat_work_in_the_glass(core, target.response, target.offset, glass)
    translated = heat_work_in_the_glass(there, target.response, target.offset, glass)
    if not wanted or unshifted is None or translated is None:
        return None
    return HeatWorks(wanted, unshifted, translated, translated)


def _step(kiln: KilnLimits) -> float:
    """The controller's smallest step, in degrees of its own unit."""
    return round(float(rate_from_celsius(kiln.resolution, kiln.unit)), _NOISE)


def _top_of(plan: Sequence[TranslatedSegment]) -> int:
    """Index of the segment at the highest target; of several, the one that holds longest."""
    return max(
        range(len(plan)),
        key=lambda each: (plan[each].written.target, plan[each].written.hold_minutes),
    )


def _held(plan: Sequence[TranslatedSegment]) -> float:
    """s at the top."""
    return float(plan[_top_of(plan)].written.hold_minutes) * SECONDS_PER_MINUTE


def _hold_lacks(
    plan: Sequence[TranslatedSegment], works: HeatWorks, glass: Glass, kiln: KilnLimits
) -> float:
    """s of hold at the top that are worth what lacks to the heat work that is wanted."""
    top = to_core([plan[_top_of(plan)].written], kiln.unit)[0].target + kiln.offset
    return (works.wanted - works.translated) / fluidity(top, glass)


def _with_fitted_hold(
    plan: list[TranslatedSegment], works: HeatWorks, glass: Glass, kiln: KilnLimits
) -> tuple[list[TranslatedSegment], float]:
    """With the hold at the top in whole minutes that makes up for the rest of the curve."""
    index, held = _top_of(plan), _held(plan)
    wanted = max(0.0, held + _hold_lacks(plan, works, glass, kiln))
    if kiln.longest_hold is not None:
        wanted = min(wanted, max(held, kiln.longest_hold))
    change = round((wanted - held) / SECONDS_PER_MINUTE)
    minutes = plan[index].written.hold_minutes + change
    changed = replace(plan[index], written=replace(plan[index].written, hold_minutes=minutes))
    return [*plan[:index], changed, *plan[index + 1 :]], float(change * SECONDS_PER_MINUTE)


def _with_lower_top(
    plan: list[TranslatedSegment], wanted: float, glass: Glass, kiln: KilnLimits
) -> tuple[list[TranslatedSegment], float]:
    """With the top lower by the fewest steps that leave no more heat work than is wanted, and by
    how many °C; as it was where that would no longer be the top."""
    step = Decimal(str(_step(kiln)))
    others = max((one.written.target for one in plan if one.part != "top"), default=Decimal(0))
    for count in range(1, int(MOST_LOWER / kiln.resolution) + 1):
        lowered = [
            replace(one, written=replace(one.written, target=one.written.target - count * step))
            if one.part == "top"
            else one
            for one in plan
        ]
        if min(one.written.target for one in lowered if one.part == "top") <= others:
            break
        if _work_of(lowered, glass, kiln) <= wanted:
            return lowered, -count * kiln.resolution
    return plan, 0.0


def _ramps(plan: Sequence[TranslatedSegment], before: Curve, after: Curve) -> tuple[Ramp, ...]:
    ramps = []
    temperature = after.start
    for index, (one, span) in enumerate(zip(plan, after.spans, strict=False)):
        segment = after.segments[index]
        way, seconds = abs(segment.target - temperature), span.hold_start - span.ramp_start
        temperature = segment.target
        if seconds > 0:
            reached = way / seconds * SECONDS_PER_HOUR
            ramps.append(Ramp(index, segment.rate, reached, seconds, _took(one, before)))
    return tuple(ramps)


def _took(one: TranslatedSegment, before: Curve) -> float | None:
    if one.made_of[-1] >= len(before.spans):
        return None
    spans = [before.spans[source] for source in one.made_of]
    return sum(span.hold_start - span.ramp_start for span in spans)
