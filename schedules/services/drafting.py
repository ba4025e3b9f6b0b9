"""A first schedule for a load in a kiln, from its glass, its thickness and common practice.

A place to start from, not a proven schedule: the glass maker's sheet wins.
"""

from collections.abc import Sequence
from dataclasses import replace

from schedules.services.anneal_plan import ARRIVAL_RATE, soak_length
from schedules.services.annealing import cooling_rate_limit
from schedules.services.case import Case, KilnLimits, Load
from schedules.services.checks import check
from schedules.services.draft_fitting import NEAR_ENOUGH, fitted, in_holds, in_stairs
from schedules.services.drafted import DraftedSegment, NoDraftError, Reason
from schedules.services.keyable import (
    keyed_hold,
    keyed_on_the_way,
    keyed_rate,
    keyed_target,
    keyed_top,
)
from schedules.services.practice import heating_rate_of_practice
from schedules.services.process_ranges import DEVITRIFICATION
from schedules.services.safe_cooling import safe_stages
from schedules.services.top_rules import BUBBLE_RANGE, STACKED
from schedules.services.working_temperatures import softening_shift, usual_top
from studio.services.glass import Glass
from studio.services.kiln_response import REACH

ABOVE_STRAIN = 47.0
"""°C above the strain point to which the first heating goes: there glass is past breaking."""
MIDDLE_RATE = 100.0
"""°C/h from there on, as long as sheets settle or a sheet bends; common practice, no source."""
TOP_RATE = 300.0
"""°C/h to a fusing top; common practice, no source."""
BUBBLE_TARGET, BUBBLE_HOLD = 670.0, 1800.0
"""°C for the usual glass, and s; common practice, no source."""
SOAK_BELOW_ANNEALING = 10.0
"""°C below the annealing point at which stress flows within minutes and cooling is shorter; common
practice, no source; a maker's own soak wins."""
CAST_RATE = 60.0
"""°C/h for a mould and the lumps in it; common practice, no source."""
MOULD_DRY, MOULD_DRY_HOLD = 200.0, 7200.0
"""°C and s to dry a mould; common practice, no source."""
BEAD_RATE = 250.0
"""°C/h for beads, at the most; common practice, no source."""
CLAY_RATE, CLAY_HOLD = 400.0, 7200.0
"""°C/h and s for metal clay; common practice, no source: the maker's sheet wins."""

_NONE = Reason("no_hold")
_STAGE_ENDS = ("stress_settles", "stress_only_passes", "cool_enough")


def draft(
    process: str, load: Load, kiln: KilnLimits, *, peak: float | None = None
) -> list[DraftedSegment]:
    """A schedule that passes its own check, in figures that this kiln's controller takes.

    Parameters
    ----------
    process : code of the process; "drop_out" beside those of a schedule
    load, kiln : see `Load`, `KilnLimits`
    peak : °C in the glass, from a maker's sheet; needed for metal clay

    Returns
    -------
    Segments in display temperatures of this kiln, with reasons.

    Raises
    ------
    NoDraftError
        Where there is none: the peak is unknown or works no glass, a rate is too slow for the
        controller, it takes too few segments, or what comes out fails its check (a peak beyond the
        kiln, a piece wider than it).

    Examples
    --------
    >>> from studio.services.glass import Glass
    >>> load = Load(Glass(493.0, 532.0, 677.0), anneal_soak=482.0)
    >>> for each in draft("full_fuse", load, KilnLimits(930.0)):
    ...     print(each.rate, each.target, each.hold / 60)
    150.0 540.0 0.0
    100.0 670.0 30.0
    300.0 804.0 10.0
    None 482.0 60.0
    80.0 425.0 0.0
    145.0 370.0 0.0
    330.0 60.0 0.0
    """
    case = Case((), process, load, kiln)
    if process == "metal_clay":
        plan = _metal_clay(peak)
    elif process in ("anneal_only", "bead_anneal"):
        plan = [_to_the_soak(case), *_cooling(case)]
    else:
        way_up = _to_the_top(case, peak)
        plan = [*way_up, _fall_to_the_soak(case, way_up[-1].target), *_cooling(case)]
    plan = _keyed(plan, kiln)
    plan = fitted(
        plan,
        kiln,
        anneal=next(
            (
                index
                for index, each in enumerate(plan)
                if each.why_hold.code == "soak_for_thickness"
            ),
            None,
        ),
        start=case.start,
    )
    remarks = check([each.segment for each in plan], process, load, kiln)
    graver = [remark for remark in remarks if remark.severity != "note"]
    if graver:
        raise NoDraftError("fails_check", remarks=graver)
    return plan


def _metal_clay(peak: float | None) -> list[DraftedSegment]:
    if peak is None:
        raise NoDraftError("peak_unknown")
    rate, hold = Reason("practice_for_clay", CLAY_RATE), Reason("practice_for_clay", CLAY_HOLD)
    return [DraftedSegment(CLAY_RATE, peak, CLAY_HOLD, rate, Reason("maker_s_sheet"), hold)]


def _first_rate(case: Case) -> tuple[float, Reason]:
    """Until glass is past breaking; what is heated all round counts as half as thick."""
    load = case.load
    rate = heating_rate_of_practice(load.thickest / case.faces, case.process, case.thickness.wide)
    if case.process == "bead_anneal" and rate > BEAD_RATE:
        return BEAD_RATE, Reason("practice_for_beads", BEAD_RATE)
    return rate, Reason("practice_for_thickness", rate)


def _to_the_top(case: Case, peak: float | None) -> list[DraftedSegment]:
    top = usual_top(case.process, case.load.glass)
    if top is None:
        raise NoDraftError("process_unknown")
    past_breaking = case.load.glass.strain_point + ABOVE_STRAIN
    highest = top.peak if peak is None else peak
    if highest <= past_breaking:
        raise NoDraftError("peak_too_low", past_breaking)
    why_peak = Reason("usual_for_process" if peak is None else "maker_s_sheet", highest)
    why_hold = Reason("usual_for_process", top.hold)
    rate, why_rate = _first_rate(case)
    plan = []
    if case.process == "cast":
        rate, why_rate = CAST_RATE, Reason("practice_for_mould", CAST_RATE)
        dry = Reason("dry_mould", MOULD_DRY_HOLD)
        plan.append(DraftedSegment(CAST_RATE, MOULD_DRY, MOULD_DRY_HOLD, why_rate, dry, dry))
    plan.append(DraftedSegment(rate, past_breaking, 0.0, why_rate, Reason("past_breaking"), _NONE))
    middle, why_middle = MIDDLE_RATE, Reason("practice_while_soft", MIDDLE_RATE)
    if case.process == "tack_fuse" and rate < MIDDLE_RATE:
        middle, why_middle = rate, why_rate
    if case.process in STACKED and case.load.layers > 1:
        settles = bubble_temperature(case.load.glass)
        why = Reason("air_between_sheets", BUBBLE_HOLD)
        if settles < highest:
            plan.append(DraftedSegment(middle, settles, BUBBLE_HOLD, why_middle, why, why))
    if case.process in (*STACKED, "fire_polish"):
        middle, why_middle = TOP_RATE, Reason("practice_to_the_top", TOP_RATE)
    plan.append(DraftedSegment(middle, highest, top.hold, why_middle, why_peak, why_hold))
    return plan


def bubble_temperature(glass: Glass) -> float:
    """°C at which stacked sheets are held to let go of the air between them.

    Examples
    --------
    >>> bubble_temperature(Glass(493.0, 532.0, 677.0)), bubble_temperature(Glass())
    (670.0, 685.0)
    """
    return min(BUBBLE_TARGET + softening_shift(glass), BUBBLE_RANGE[1] - 5.0)


def soak_temperature(case: Case) -> tuple[float, Reason]:
    """°C in the glass at which a load is soaked, with the reason: its maker's own, or near the
    annealing point.

    Examples
    --------
    >>> case = Case((), "slump", Load(anneal_soak=548.0), KilnLimits(930.0))
    >>> soak_temperature(case)
    (548.0, Reason(code='maker_s_sheet', figure=548.0))
    """
    own = case.load.anneal_soak
    if own is not None:
        return own, Reason("maker_s_sheet", own)
    usual = case.load.glass.annealing_point - SOAK_BELOW_ANNEALING
    return usual, Reason("near_annealing_point", usual)


def _soak(case: Case) -> tuple[float, float, Reason, Reason]:
    """Its temperature and length with their reasons."""
    temperature, why = soak_temperature(case)
    response = case.kiln.response
    fall = ARRIVAL_RATE if response is None else response.fall_at(temperature)
    glass, thickness = case.load.glass, case.thickness.by_factor
    soak = soak_length(thickness, glass, temperature, case.faces, arrival_rate=fall)
    needed = max(soak.evening + soak.relaxing, soak.practice / case.faces)
    return temperature, needed, why, Reason("soak_for_thickness", needed)


def _to_the_soak(case: Case) -> DraftedSegment:
    temperature, hold, why_target, why_hold = _soak(case)
    rate, why_rate = _first_rate(case)
    return DraftedSegment(rate, temperature, hold, why_rate, why_target, why_hold)


def _fall_to_the_soak(case: Case, top: float) -> DraftedSegment:
    temperature, hold, why_target, why_hold = _soak(case)
    crystals = top > DEVITRIFICATION.low
    why_rate = Reason("past_crystals_quickly" if crystals else "evened_by_the_soak")
    return DraftedSegment(None, temperature, hold, why_rate, why_target, why_hold)


def _cooling(case: Case) -> list[DraftedSegment]:
    soak, _ = soak_temperature(case)
    glass, thickness = case.load.glass, case.thickness.by_factor
    stages = safe_stages(thickness, glass, soak, case.faces)
    by_practice = stages[0].rate < cooling_rate_limit(thickness, glass, case.faces)
    first = "cooling_of_practice" if by_practice else "cooling_for_thickness"
    reasons = (
        (first, "stress_settles"),
        ("later_stage", "stress_only_passes"),
        ("later_stage", "cool_enough"),
    )
    return [
        DraftedSegment(stage.rate, stage.end, 0.0, Reason(why_rate, stage.rate), Reason(why), _NONE)
        for stage, (why_rate, why) in zip(stages, reasons, strict=True)
    ]


def _keyed(plan: Sequence[DraftedSegment], kiln: KilnLimits) -> list[DraftedSegment]:
    """In the display's degrees and in round figures, without what the kiln does by itself."""
    keyed: list[DraftedSegment] = []
    before = _round_target(plan[0], kiln)
    for index, each in enumerate(plan):
        target = _round_target(each, kiln)
        rounded = replace(each, target=target, hold=keyed_hold(each.hold))
        last = index == len(plan) - 1
        if last and index > 0 and _cools_slower(kiln, before, each.rate):
            break
        if each.rate is not None:
            rate = keyed_rate(each.rate, kiln.unit, kiln.resolution)
            if rate is None and each.rate * NEAR_ENOUGH >= kiln.resolution:
                rate = kiln.resolution
                rounded = replace(rounded, why_rate=Reason("nearly_a_step", each.rate))
            if rate is None:
                keyed += in_stairs(rounded, before, kiln)
                before = target
                continue
            rounded = replace(rounded, rate=rate)
        keyed += in_holds(rounded, kiln)
        before = target
    return keyed


def _round_target(each: DraftedSegment, kiln: KilnLimits) -> float:
    """On the display, °C: a maker's figure as it stands, the others as round as they may be."""
    shown, why = each.target - kiln.offset, each.why_target.code
    if why == "cool_enough":
        shown = each.target  # a kiln is opened by its display
    if why == "maker_s_sheet":
        return keyed_target(shown, kiln.unit, kiln.resolution)
    if why == "usual_for_process":
        return keyed_top(shown, kiln.unit, kiln.resolution)
    return keyed_on_the_way(shown, kiln.unit, kiln.resolution, falling=why in _STAGE_ENDS)


def _cools_slower(kiln: KilnLimits, start: float, rate: float | None) -> bool:
    """Whether the kiln, left alone from `start` on, never falls as fast as `rate`."""
    response = kiln.response
    if response is None or rate is None or start <= response.ambient + REACH:
        return False
    return response.fall_at(start) <= rate
