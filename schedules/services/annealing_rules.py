"""Whether a piece is annealed: soaked where its stress can flow, long enough, and cooled gently."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from schedules.services.anneal_plan import SOAK_PER_METRE, StageRule
from schedules.services.annealing import cooling_rate_limit
from schedules.services.case import Case, Remark, Remedy
from schedules.services.stress import steady_tension
from studio.services.kiln_response import SECONDS_PER_HOUR

SOAK_BELOW_STRAIN = 25.0
"""°C below the strain point at which a soak still counts: thick pieces are soaked so low."""
SOAK_ABOVE_ANNEALING = 15.0
"""°C above the annealing point at which a soak still counts."""
STRAY_SOAK_BELOW = 100.0
"""°C below the strain point down to which a hold on the way down was meant as an anneal."""
SHORTEST_SOAK = 0.6
"""Of the soak that practice gives a thickness: below it a soak is remarked on."""
DIFFERENCE_ALLOWED = 5.0
"""°C through the piece in the annealing range above which its cooling is remarked on; what makers'
tables come to is 3.1 to 3.9."""
RATE_OVER = 60.0
"""s over which the rate of a fall is told."""
PASCALS_PER_MEGAPASCAL = 1e6
MM_PER_M = 1000.0


def soak(case: Case) -> Iterator[Remark]:
    """Holds on the way down, at the temperatures where stress flows, against the thickness."""
    if not case.is_glass or not case.segments:
        return
    limit = SOAK_PER_METRE * case.thickness.by_factor / case.faces
    soaks = anneal_soaks(case)
    found = sum(case.segments[index].hold for index in soaks)
    if soaks and found < SHORTEST_SOAK * limit:
        longest = max(soaks, key=lambda index: case.segments[index].hold)
        remedy = Remedy("set_hold", limit)
        yield _annealed_as(case, Remark("soak_short", "warn", longest, found, limit, remedy))
    elif not soaks:
        yield _without_soak(case, limit)


def _without_soak(case: Case, limit: float) -> Remark:
    low, _ = soak_range(case)
    reaches = case.load.glass.strain_point - STRAY_SOAK_BELOW
    for index in range(first_of_the_way_down(case), len(case.segments)):
        if case.segments[index].hold > 0 and reaches <= case.targets[index] < low:
            remedy = Remedy("raise_target", low - case.kiln.offset)
            return Remark("soak_too_cool", "warn", index, case.targets[index], low, remedy)
    remedy = Remedy("add_soak", limit)
    return _annealed_as(case, Remark("no_soak", "warn", None, 0.0, limit, remedy))


def _annealed_as(case: Case, remark: Remark) -> Remark:
    """The remark with the thickness that its limit rests on, by the rule used and by the other."""
    return replace(
        remark,
        thickness_mm=case.thickness.by_factor * MM_PER_M,
        other_thickness_mm=case.thickness.by_difference * MM_PER_M,
    )


def anneal_soaks(case: Case) -> list[int]:
    """Indices of the segments that hold where stress flows, on the way down."""
    low, high = soak_range(case)
    return [
        index
        for index in range(first_of_the_way_down(case), len(case.segments))
        if case.segments[index].hold > 0 and low <= case.targets[index] <= high
    ]


def cools_after(case: Case) -> int:
    """Index of the segment after which the piece is cooled: its last soak, or its top."""
    return max(anneal_soaks(case), default=case.top)


def soak_range(case: Case) -> tuple[float, float]:
    """Between what temperatures of the glass, °C, a hold counts as an anneal soak.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> from studio.services.glass import Glass
    >>> soak_range(Case((), "slump", Load(Glass(493.0, 532.0, 677.0)), KilnLimits(930.0)))
    (468.0, 547.0)
    """
    glass = case.load.glass
    return (
        glass.strain_point - SOAK_BELOW_STRAIN,
        glass.annealing_point + SOAK_ABOVE_ANNEALING,
    )


def first_of_the_way_down(case: Case) -> int:
    """Index of the first segment that may be the anneal, which may be the top itself.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> from schedules.services.curve import Segment
    >>> only = (Segment(100.0, 540.0, 3600.0),)
    >>> kiln = KilnLimits(930.0)
    >>> [first_of_the_way_down(Case(only, process, Load(), kiln))
    ...  for process in ("slump", "anneal_only")]
    [1, 0]
    """
    return case.top if case.process in ("anneal_only", "bead_anneal") else case.top + 1


def cooling(case: Case) -> Iterator[Remark]:
    """The temperature difference while stress is settled, and the stress left by all of it: where
    the stage itself is no faster than it may be, by what a fall brought into a short soak."""
    if case.stress is None:
        return
    glass = case.load.glass
    difference, moment = widest_on_the_way_down(case)
    left = case.stress.stress.residual_tension
    allowed = steady_tension(DIFFERENCE_ALLOWED, glass)
    rate = _fall_at(case, moment)
    limit = cooling_rate_limit(case.thickness.by_factor, glass, case.faces)
    if difference > DIFFERENCE_ALLOWED and rate > limit:
        yield _annealed_as(case, _too_fast(case, moment, rate, limit))
    elif left > allowed:
        figure, most = left / PASCALS_PER_MEGAPASCAL, allowed / PASCALS_PER_MEGAPASCAL
        remedy = Remedy("leave_less_stress")
        yield _annealed_as(case, Remark("stress_left", "warn", None, figure, most, remedy))


def widest_on_the_way_down(case: Case) -> tuple[float, float]:
    """The greatest difference, °C, while the face passes from the annealing point to where stress
    is settled, and its moment, s. From the last soak on: a fall to a soak is evened out by it.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> from schedules.services.curve import Segment
    >>> from studio.services.glass import Glass
    >>> plan = (Segment(27.0, 540.0, 3600.0), Segment(None, 482.0, 14400.0), Segment(15.0, 427.0))
    >>> load = Load(Glass(493.0, 532.0, 677.0), thickest=0.025, thinnest=0.025)
    >>> case = Case(plan, "slump", load, KilnLimits(930.0))
    >>> difference, moment = widest_on_the_way_down(case)
    >>> round(difference, 1), under_way(case, moment)
    (3.1, 2)
    """
    if case.stress is None or case.curve is None:
        return 0.0, 0.0
    times, begins = case.stress.stress.times, case.curve.spans[cools_after(case)].hold_end
    face = case.stress.faces
    settled = case.load.glass.strain_point - StageRule().below_strain
    counts = (times >= begins) & (face >= settled) & (face <= case.load.glass.annealing_point)
    differences = np.where(counts, case.stress.differences, 0.0)
    widest = int(np.argmax(differences))
    return float(differences[widest]), float(times[widest])


def _fall_at(case: Case, moment: float) -> float:
    """°C/h at which the kiln falls at a moment, s."""
    if case.curve is None:
        return 0.0
    before, after = case.curve.at([moment - RATE_OVER, moment])
    return float(before - after) / RATE_OVER * SECONDS_PER_HOUR


def _too_fast(case: Case, moment: float, rate: float, limit: float) -> Remark:
    """Of the segment under way at `moment`, at which the kiln falls at `rate`."""
    index = under_way(case, moment)
    if index is None:
        return Remark("free_cooling_fast", "warn", None, rate, limit, Remedy("add_cooling", limit))
    return Remark("cooling_fast", "warn", index, rate, limit, Remedy("set_rate", limit))


def under_way(case: Case, moment: float) -> int | None:
    """Index of the segment that runs at a moment, s from the start; None after the last one.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> from schedules.services.curve import Segment
    >>> case = Case((Segment(100.0, 120.0), Segment(50.0, 220.0)), "slump", Load(),
    ...             KilnLimits(930.0))
    >>> [under_way(case, 3600.0 * hours) for hours in (0.5, 2.0, 9.0)]
    [0, 1, None]
    """
    spans = () if case.curve is None else case.curve.spans
    return next((index for index, span in enumerate(spans) if moment <= span.hold_end), None)
