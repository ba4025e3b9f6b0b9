"""The next-time note: which small change of a schedule to fire next, why, and how sure it is."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from firings.services.decision import AS_WANTED, Decision, decide
from firings.services.evidence import PastFiring, Situation, StepLimits
from firings.services.fault_table import row_for_verdict
from firings.services.gates import (
    Gate,
    down_is_barred,
    history_gate,
    no_evidence,
    structural_gate,
    up_is_barred,
)
from firings.services.process_rules import process_key
from firings.services.reasons import Reason
from firings.services.top import GlassTerms, with_top
from firings.services.weighing import History, RestsOn, weigh
from schedules.services.curve import Segment

__all__ = ["Advice", "Partner", "PastFiring", "RestsOn", "Situation", "StepLimits", "advise"]

EXCHANGE_SPAN = 60.0
"""s: the exchange is told for a minute."""

ALIKE = 1e-3
"""Of ln(heat work), 0.03 °C: two that differ by less, as tables do, are the same."""


@dataclass(frozen=True)
class Partner:
    """The change of the other lever with the same heat work, for whoever likes it better."""

    peak_change: float
    hold_change: float


@dataclass(frozen=True)
class Advice:
    """What to do next time.

    Attributes
    ----------
    action : "change", "unchanged" or "look_elsewhere"
    peak_change : °C, 0 unless the action is "change"
    hold_change : s, likewise; never both
    chance_now : of "as wanted" with the schedule as it stands; None where heat work says nothing
        (an anneal, metal clay, a top out of reach)
    chance_then : with the advised schedule, equal to `chance_now` where nothing changes
    reasons : the weightiest first
    segments : the schedule to fire
    rests_on : the firings behind it, the latest first
    chances_now, chances_then : of the five verdicts, from well short to well past; or empty
    exchange : °C of peak that are worth as much heat work here as a minute of hold, or None
    partner : the other lever's change of equal heat work, or None
    missing : °C of peak that the schedule is thought to be short of what is wanted, or None
    missing_doubt : its standard deviation, °C, or None
    """

    action: str
    peak_change: float
    hold_change: float
    chance_now: float | None
    chance_then: float | None
    reasons: tuple[Reason, ...]
    segments: tuple[Segment, ...]
    rests_on: tuple[RestsOn, ...] = ()
    chances_now: tuple[float, ...] = ()
    chances_then: tuple[float, ...] = ()
    exchange: float | None = None
    partner: Partner | None = None
    missing: float | None = None
    missing_doubt: float | None = None


def advise(past: Sequence[PastFiring], situation: Situation, limits: StepLimits) -> Advice:
    """Advise on the next firing of a schedule in a kiln.

    Only the peak or the hold at the top ever moves, by a keyable step within `limits`. A posterior
    for the heat work that the schedule wants is drawn from all verdicts; gates come before it.

    Parameters
    ----------
    past : firings of the schedule, in this kiln and in others; those that tell nothing (not
        judged, no sensible heat work) are left out
    situation : the revision as it stands, in its kiln
    limits : see `StepLimits`

    Returns
    -------
    Advice, always the same for the same input.

    Examples
    --------
    >>> from schedules.services.curve import planned_curve
    >>> from studio.services.glass import Glass
    >>> from studio.services.kiln_response import KilnResponse
    >>> segments = [Segment(200.0, 804.0, 600.0), Segment(None, 510.0, 3600.0)]
    >>> kiln = Situation(segments, KilnResponse(1100.0, 7200.0, 10800.0), Glass(), "A")
    >>> own = planned_curve(segments, kiln.response).heat_work(kiln.glass)
    >>> note = advise([PastFiring("A", own, 0.12, -2, firing=7)], kiln, StepLimits())
    >>> note.action, note.rests_on[0].firing
    ('change', 7)
    """
    terms = GlassTerms(situation)
    shut = structural_gate(situation, terms.top, limits)
    if shut is not None:
        return _untouched(shut, situation)
    return advice_from(weigh(past, situation), limits)


def advice_from(history: History, limits: StepLimits) -> Advice:
    """The same from a history that is already weighed, for a schedule that heat work speaks of."""
    terms, situation = history.terms, history.terms.situation
    here = history.evidence_here
    tolerance = max(situation.repeatability * terms.per_degree, ALIKE)
    shut = history_gate(
        history.firings_here, here, situation.process, tolerance, offset=situation.offset
    )
    if shut is None and not history.evidence:
        shut = Gate("unchanged", (no_evidence(history.ordered),))
    decision = decide(
        history.beliefs,
        terms,
        limits,
        up_barred=up_is_barred(here, terms.own, tolerance),
        down_barred=down_is_barred(here, terms.own, tolerance),
    )
    return _advice(shut, decision, history)


def _advice(shut: Gate | None, decision: Decision, history: History) -> Advice:
    terms, beliefs = history.terms, history.beliefs
    degree, now = terms.per_degree, decision.chances_now
    told = Advice(
        action="unchanged",
        peak_change=0.0,
        hold_change=0.0,
        chance_now=now[AS_WANTED],
        chance_then=now[AS_WANTED],
        reasons=(*decision.reasons, *_beside(history)),
        segments=tuple(terms.situation.segments),
        rests_on=history.rests_on,
        chances_now=now,
        chances_then=now,
        exchange=EXCHANGE_SPAN * terms.per_second / degree,
        missing=(beliefs.wanted - terms.own) / degree,
        missing_doubt=beliefs.doubt / degree,
    )
    if shut is not None:
        return replace(told, action=shut.action, reasons=(*shut.reasons, *_beside(history)))
    if not (decision.peak_change or decision.hold_change):
        return told
    peak, hold = terms.top.peak + decision.peak_change, terms.top.hold + decision.hold_change
    return replace(
        told,
        action="change",
        peak_change=decision.peak_change,
        hold_change=decision.hold_change,
        chance_then=decision.chances_then[AS_WANTED],
        chances_then=decision.chances_then,
        reasons=(_why(told, decision, terms, peak, hold), *told.reasons),
        segments=tuple(with_top(terms.situation.segments, peak, hold)),
        partner=_partner(decision, terms, peak, hold),
    )


def _why(told: Advice, decision: Decision, terms: GlassTerms, peak: float, hold: float) -> Reason:
    """What the verdicts say, with the table's own first tries beside it."""
    up = float(terms.of_top(peak, hold)) > terms.own
    row = row_for_verdict(process_key(terms.situation.process), -1 if up else 1)
    return Reason(
        "more_heat_work" if up else "less_heat_work",
        {
            "missing": told.missing or 0.0,
            "missing_doubt": told.missing_doubt or 0.0,
            "gain": decision.chances_then[AS_WANTED] - decision.chances_now[AS_WANTED],
        },
        tuple(one.firing for one in told.rests_on if one.firing is not None),
        tries=row.tries if row else (),
        leave_alone=row.leave_alone if row else (),
    )


def _partner(decision: Decision, terms: GlassTerms, peak: float, hold: float) -> Partner | None:
    """The same heat work by the other lever: not rounded to the controller, nor bound by limits."""
    felt = peak + terms.situation.offset
    if decision.peak_change:
        held = terms.felt.hold_alone(felt, hold)
        return None if held is None else Partner(0.0, held - terms.top.hold)
    alone = terms.felt.peak_alone(felt, hold)
    return None if alone is None else Partner(alone - terms.felt.top.peak, 0.0)


def _beside(history: History) -> list[Reason]:
    """What is worth knowing beside the reasons for the action."""
    return [*_apart(history), *_exchange_learnt(history), *_left_out(history)]


def _apart(history: History) -> list[Reason]:
    return [
        Reason(
            "thickness_apart" if shift.place is None else "place_apart",
            {"shift": shift.shift, "doubt": shift.doubt},
            shift.firings,
        )
        for shift in history.apart_shifts
    ]


def _exchange_learnt(history: History) -> list[Reason]:
    if history.exchange is None:
        return []
    terms, plain = history.terms, GlassTerms(history.terms.situation)
    figures = {
        "exchange": EXCHANGE_SPAN * terms.per_second / terms.per_degree,
        "by_viscosity": EXCHANGE_SPAN * plain.per_second / plain.per_degree,
        "factor": history.exchange.factor,
        "doubt": history.exchange.doubt,
        "firings": history.exchange.firings,
    }
    return [Reason("exchange_learnt", figures)]


def _left_out(history: History) -> list[Reason]:
    """Judged firings that say nothing, if any."""
    left_out = history.left_out
    if not left_out:
        return []
    names = tuple(one.firing for one in left_out if one.firing is not None)
    return [Reason("left_out", {"firings": len(left_out)}, names)]


def _untouched(shut: Gate, situation: Situation) -> Advice:
    return Advice(shut.action, 0.0, 0.0, None, None, shut.reasons, tuple(situation.segments))
