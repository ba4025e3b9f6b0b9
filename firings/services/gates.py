"""What has to be right before a schedule is changed at all."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

from firings.services.evidence import PastFiring, Placed, Situation, StepLimits
from firings.services.fault_table import FaultRow, row_for_fault
from firings.services.process_rules import (
    ANNEAL_MARGIN,
    NO_VISCOUS_GLASS,
    TOP_IS_THE_ANNEAL,
    process_key,
)
from firings.services.reasons import Reason
from firings.services.top import Top

LOOK_BACK = 5
"""Judged firings among which a contradiction is looked for: older ones have been lived down."""
CONTRADICTION = 3
"""Steps of verdict by which the hotter of two firings came out shorter."""


@dataclass(frozen=True)
class Gate:
    """A gate that is shut: what to do instead of a change, and why."""

    action: str
    reasons: tuple[Reason, ...]


def structural_gate(situation: Situation, top: Top, limits: StepLimits) -> Gate | None:
    """Shut where moving the top could be of no use or must not be: no firing is needed to see it.

    The top is the anneal, the material is no viscous glass, the kiln can't reach the top as it is,
    or may not.
    """
    key = process_key(situation.process)
    if key in NO_VISCOUS_GLASS:
        return _elsewhere(Reason("no_viscous_glass"))
    annealing = situation.glass.annealing_point
    felt = top.peak + situation.offset
    if key in TOP_IS_THE_ANNEAL or felt <= annealing + ANNEAL_MARGIN:
        figures = {"peak": felt, "annealing_point": annealing}
        return _elsewhere(Reason("top_is_the_anneal", figures))
    if top.peak > limits.max_temperature:
        figures = {"peak": top.peak, "limit": limits.max_temperature}
        return _elsewhere(Reason("above_the_kilns_limit", figures))
    for segment in situation.segments[: top.index + 1]:
        if not situation.response.reaches(segment.target):
            figures = {"target": segment.target, "limit": situation.response.full_power_limit}
            return _elsewhere(Reason("target_not_reached", figures))
    return None


def history_gate(
    here: Sequence[PastFiring],
    placed: Sequence[Placed],
    process: str | None,
    tolerance: float,
    *,
    offset: float = 0.0,
) -> Gate | None:
    """The first gate that the firings in this kiln shut, or None.

    Parameters
    ----------
    here : the firings in this kiln since its last service, first to last, judged or not
    placed : those of them that are evidence, in the same order
    process : see `Situation`
    tolerance : difference in ln(heat work) within which two firings count as the same
    offset : of this kiln, glass minus display, °C: what is to be tried is told by its display
    """
    if not here:
        return None
    latest = here[-1]
    return (
        _faults(latest, process_key(process), offset)
        or _missed_plan(latest)
        or _masses(latest)
        or _also_changed(latest)
        or _contradiction(placed, tolerance)
        or _place(placed, tolerance)
    )


def no_evidence(past: Sequence[PastFiring]) -> Reason:
    """Why nothing can be said, and what to note next time."""
    unjudged = tuple(_names(firing for firing in past if firing.verdict is None))
    details = ("verdict",) if past else ("verdict", "recorded_peak", "recorded_duration")
    return Reason("too_little_evidence", {"firings": len(past)}, unjudged, details)


def up_is_barred(placed: Sequence[Placed], own: float, tolerance: float) -> Reason | None:
    """Why more heat work is out of the question: no more already came out well past here.

    Two later firings that came out short although they had at least as much lift the bar.
    """
    return _barred(placed, own, tolerance, side=1)


def down_is_barred(placed: Sequence[Placed], own: float, tolerance: float) -> Reason | None:
    """Why less heat work is out of the question: no less already came out well short here."""
    return _barred(placed, own, tolerance, side=-1)


def _barred(placed: Sequence[Placed], own: float, tolerance: float, side: int) -> Reason | None:
    for number, one in enumerate(placed):
        if one.firing.verdict != 2 * side or side * (own - one.ln_heat_work) < -tolerance:
            continue
        against = [
            later
            for later in placed[number + 1 :]
            if (later.firing.verdict or 0) * side < 0
            and side * (later.ln_heat_work - one.ln_heat_work) >= -tolerance
        ]
        if len(against) < 2:
            code = "well_past_at_no_more" if side > 0 else "well_short_at_no_less"
            return Reason(code, firings=tuple(_names([one.firing])))
    return None


def _faults(latest: PastFiring, process: str | None, offset: float) -> Gate | None:
    if not latest.faults:
        return None
    reasons = []
    for fault in dict.fromkeys(latest.faults):
        row = row_for_fault(fault, process)
        if row is None:
            reasons.append(Reason("unknown_fault", firings=_name(latest), details=(fault,)))
        elif row.needs == 0:
            reasons.append(_fault_reason("fault_of_another_kind", latest, fault, row, offset))
        elif (latest.verdict or 0) * row.needs > 0:
            reasons.append(_fault_reason("fault_against_verdict", latest, fault, row, offset))
    if len(reasons) > 1:
        reasons.append(Reason("several_faults", {"faults": len(reasons)}, _name(latest)))
    return _elsewhere(*reasons) if reasons else None


def _fault_reason(
    code: str, latest: PastFiring, fault: str, row: FaultRow, offset: float
) -> Reason:
    return Reason(
        code,
        firings=_name(latest),
        details=(fault, *row.causes),
        tries=tuple(attempt.by_display(offset) for attempt in row.tries),
        leave_alone=row.leave_alone,
    )


def _missed_plan(latest: PastFiring) -> Gate | None:
    if not latest.missed_plan:
        return None
    return _unchanged(Reason("missed_plan", firings=_name(latest)))


def _masses(latest: PastFiring) -> Gate | None:
    if latest.mass_ratio is None:
        return None
    figures = {"ratio": latest.mass_ratio}
    return _elsewhere(Reason("very_different_masses", figures, _name(latest)))


def _also_changed(latest: PastFiring) -> Gate | None:
    if not latest.also_changed:
        return None
    return _unchanged(
        Reason("also_changed", firings=_name(latest), details=tuple(latest.also_changed))
    )


def _contradiction(placed: Sequence[Placed], tolerance: float) -> Gate | None:
    """The latest verdict against a recent one: more heat work, and yet much shorter."""
    if len(placed) < 2:
        return None
    latest = placed[-1]
    for other in placed[-LOOK_BACK:-1]:
        further = (latest.firing.verdict or 0) - (other.firing.verdict or 0)
        hotter = latest.ln_heat_work - other.ln_heat_work
        if abs(further) >= CONTRADICTION and hotter * (1 if further > 0 else -1) <= tolerance:
            names = tuple(_names([other.firing, latest.firing]))
            return _elsewhere(Reason("contradicting_verdicts", {"difference": hotter}, names))
    return None


def _place(placed: Sequence[Placed], tolerance: float) -> Gate | None:
    """The latest verdict differs from those of like firings, and so does only its place."""
    if not placed or placed[-1].firing.place is None or placed[-1].firing.verdict == 0:
        return None
    latest = placed[-1]
    alike = [
        other.firing
        for other in placed[:-1]
        if abs(other.ln_heat_work - latest.ln_heat_work) <= tolerance
    ]
    elsewhere = [other for other in alike if other.place not in (None, latest.firing.place)]
    fine = [other for other in elsewhere if other.verdict == 0]
    if len(fine) < 2 or len(fine) < len(alike):
        return None
    names = tuple(_names([*fine, latest.firing]))
    return _unchanged(Reason("only_the_place_differs", firings=names))


def _names(firings: Iterable[PastFiring]) -> list[Hashable]:
    return [firing.firing for firing in firings if firing.firing is not None]


def _name(firing: PastFiring) -> tuple[Hashable, ...]:
    return tuple(_names([firing]))


def _elsewhere(*reasons: Reason) -> Gate:
    return Gate("look_elsewhere", reasons)


def _unchanged(*reasons: Reason) -> Gate:
    return Gate("unchanged", reasons)
