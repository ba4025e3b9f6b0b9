"""After a power cut: carry on, restart slowly or anneal again, and what is left to key.

Hot glass loses nothing by waiting. Rigid glass is heated again as slowly as at first, and what fell
through its annealing range without its soak is soaked anew. A calculation: the glass maker's and
the kiln's manuals win.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Literal

from firings.services.plan_place import PlanStage, rest_of, stage_at
from schedules.services.anneal_plan import StageRule
from schedules.services.annealing_rules import anneal_soaks, first_of_the_way_down, soak_range
from schedules.services.case import Case
from schedules.services.curve import Curve, Segment
from schedules.services.drafting import ABOVE_STRAIN
from schedules.services.keyable import keyed_rate
from schedules.services.practice import heating_rate_of_practice
from studio.services.kiln_response import SECONDS_PER_HOUR

Act = Literal["carry_on", "restart_slowly", "anneal_again", "let_cool"]
NEAR_SOAK = 3.0
"""°C below a soak's target at which a fall to it has lost nothing."""


@dataclass(frozen=True, slots=True)
class Recovery:
    """What to do with a load that lost its power.

    Attributes
    ----------
    act : what to do
    segments : left to key, in °C/h, °C on the display and s; none for "let_cool"
    rate : °C/h at which it is heated again where that is gentle, or None
    """

    act: Act
    segments: tuple[Segment, ...]
    rate: float | None = None


def after_power_cut(
    case: Case, plan: Curve, failed_at: float, temperature: float, without: float
) -> Recovery:
    """What is left of a firing whose power came back.

    Parameters
    ----------
    case : the schedule as keyed, with its load and kiln
    plan : its curve
    failed_at : s of the plan at which the power failed
    temperature : °C that the display shows now
    without : s without power

    Returns
    -------
    Recovery, in figures that the kiln's controller takes.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> from schedules.services.curve import planned_curve
    >>> from studio.services.glass import Glass
    >>> from studio.services.kiln_response import KilnResponse
    >>> segments = (Segment(150.0, 540.0), Segment(300.0, 804.0, 600.0),
    ...             Segment(None, 482.0, 3600.0), Segment(80.0, 370.0))
    >>> plan = planned_curve(segments, KilnResponse(1100.0, 7200.0, 10800.0))
    >>> load = Load(Glass(493.0, 532.0, 677.0), anneal_soak=482.0)
    >>> case = Case(segments, "full_fuse", load, KilnLimits(930.0))
    >>> after_power_cut(case, plan, 14000.0, 600.0, 1200.0).act
    'carry_on'
    >>> after_power_cut(case, plan, 9000.0, 300.0, 2400.0)
    Recovery(act='restart_slowly', segments=(Segment(rate=150.0, target=540.0, hold=0.0), \
Segment(rate=300.0, target=804.0, hold=600.0), Segment(rate=None, target=482.0, hold=3600.0), \
Segment(rate=80.0, target=370.0, hold=0.0)), rate=150.0)
    """
    stage, rest = stage_at(plan, failed_at), rest_of(plan, failed_at)
    glass_now = temperature + case.kiln.offset
    if stage is None or not case.is_glass:
        return _carry_on(rest, stage, temperature)
    is_soft = glass_now > soak_range(case)[1]
    if stage.index < first_of_the_way_down(case):
        return _carry_on(rest, stage, temperature) if is_soft else _restart(case, rest, temperature)
    soaks = anneal_soaks(case)
    if not soaks or is_soft or _lost_nothing(case, plan, stage, failed_at, temperature, without):
        return _carry_on(rest, stage, temperature)
    return _anneal_again(case, soaks[0], temperature)


def _lost_nothing(
    case: Case, plan: Curve, stage: PlanStage, failed_at: float, temperature: float, without: float
) -> bool:
    """Whether a load on its way down kept to what its anneal asks, power or not."""
    before = float(plan.at(failed_at))
    settled = case.load.glass.strain_point - StageRule().below_strain
    if before + case.kiln.offset <= settled:
        return True
    soaks = anneal_soaks(case)
    if stage.index <= soaks[0] and stage.kind == "ramp":
        return temperature >= case.segments[soaks[0]].target - NEAR_SOAK
    if stage.index <= soaks[-1] or stage.index >= len(case.segments) or without <= 0:
        return False
    asked = case.segments[stage.index].rate
    return (before - temperature) / without * SECONDS_PER_HOUR <= (inf if asked is None else asked)


def _carry_on(rest: Sequence[Segment], stage: PlanStage | None, temperature: float) -> Recovery:
    """From the present segment; on the way down without targets that lie above the display."""
    if stage is not None and not stage.rises:
        rest = [each for each in rest if each.target < temperature or each.hold > 0]
    return Recovery("carry_on" if rest else "let_cool", tuple(rest))


def _gentle_rate(case: Case) -> float:
    """°C/h for this thickness by common practice, as the controller takes it."""
    rate = heating_rate_of_practice(
        case.load.thickest / case.faces, case.process, case.thickness.wide
    )
    return keyed_rate(rate, case.kiln.unit, case.kiln.resolution) or rate


def _restart(case: Case, rest: Sequence[Segment], temperature: float) -> Recovery:
    """Slowly until glass is past breaking, then as keyed."""
    rate = _gentle_rate(case)
    past_breaking = case.load.glass.strain_point + ABOVE_STRAIN - case.kiln.offset
    segments: list[Segment] = []
    before = temperature
    for each in rest:
        asked = inf if each.rate is None else each.rate
        if before < past_breaking and before < each.target and asked > rate:
            if each.target > past_breaking:
                segments += [Segment(rate, past_breaking), each]
            else:
                segments.append(Segment(rate, each.target, each.hold))
        else:
            segments.append(each)
        before = max(before, each.target)
    return Recovery("restart_slowly", tuple(segments), rate)


def _anneal_again(case: Case, soak: int, temperature: float) -> Recovery:
    """Gently back to the first soak, all of it, and down as keyed."""
    first, rate = case.segments[soak], _gentle_rate(case)
    if temperature >= first.target:
        return Recovery("anneal_again", case.segments[soak:])
    back = Segment(rate, first.target, first.hold)
    return Recovery("anneal_again", (back, *case.segments[soak + 1 :]), rate)
