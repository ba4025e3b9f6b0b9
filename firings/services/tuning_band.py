"""What the verdicts of a schedule say of its heat work, as a chart shows it: points and a band.

Source: our own model of verdicts, see `firings.services.verdict_model`.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from firings.services.evidence import PastFiring, Situation, StepLimits
from firings.services.gates import structural_gate
from firings.services.top import GlassTerms
from firings.services.verdict_model import Beliefs, Floats
from firings.services.weighing import History, weigh

NODES = 97
"""Of the grid: some half a degree apart at its narrowest."""
LEAST_REACH = 15.0
"""°C to both sides of the schedule as it stands that the grid spans at least."""
MARGIN = 4.0
"""°C beyond the outermost firing."""
FARTHEST = 60.0
"""°C from the schedule as it stands, beyond which no grid goes."""
BAND = (0.1, 0.5, 0.9)
"""Quantiles of the expected judgement: eight in ten lie between the outer two."""


@dataclass(frozen=True)
class TuningPoint:
    """One judged firing of the schedule.

    Attributes
    ----------
    firing : as `PastFiring.firing` names it
    kiln : names the kiln
    here : whether it was in the kiln of the next firing, since its last service
    ln_heat_work : ln of 1/Pa in the glass, as far as offsets are known
    uncertainty : its standard deviation, as it counts for the next firing
    peak : °C of this kiln's display at which the schedule, with the hold that it has now, gives
        that heat work
    peak_uncertainty : °C
    verdict : −2 to +2
    weight : above 0 to 1, as in `RestsOn`
    """

    firing: Hashable | None
    kiln: Hashable
    here: bool
    ln_heat_work: float
    uncertainty: float
    peak: float
    peak_uncertainty: float
    verdict: int
    weight: float


@dataclass(frozen=True)
class TuningBand:
    """What is believed of a schedule's heat work in one kiln.

    Attributes
    ----------
    ln_heat_work : ln of 1/Pa in the glass, rising, shape (n,)
    peaks : °C of this kiln's display that stand for it, with the schedule's hold, shape (n,)
    chances : of each verdict there, from well short to well past, shape (n, 5)
    low, middle, high : quantiles of how far the judge would put it, on the scale of the verdicts
        and without the judge's noise: −2 well short to +2 well past, and beyond; shape (n,)
    own_peak : the schedule's as it stands, °C
    wanted, doubt : ln heat work that the schedule wants, and its standard deviation
    wanted_peak, peak_doubt : the same as a peak, °C
    points : the judged firings, first to last
    """

    ln_heat_work: Floats
    peaks: Floats
    chances: Floats
    low: Floats
    middle: Floats
    high: Floats
    own_peak: float
    wanted: float
    doubt: float
    wanted_peak: float
    peak_doubt: float
    points: tuple[TuningPoint, ...]


def posterior(past: Sequence[PastFiring], situation: Situation) -> TuningBand | None:
    """What the verdicts so far say of every heat work about the schedule's.

    Parameters
    ----------
    past, situation : as for `firings.services.advice.advise`

    Returns
    -------
    TuningBand; None where heat work says nothing (an anneal, metal clay, a top out of reach).

    Examples
    --------
    >>> from schedules.services.curve import Segment, planned_curve
    >>> from studio.services.glass import Glass
    >>> from studio.services.kiln_response import KilnResponse
    >>> fuse = [Segment(200.0, 804.0, 600.0), Segment(None, 510.0, 3600.0)]
    >>> kiln = Situation(fuse, KilnResponse(1100.0, 7200.0, 10800.0), Glass(), "A")
    >>> work = planned_curve(fuse, kiln.response).heat_work(kiln.glass)
    >>> band = posterior([PastFiring("A", work, 0.1, -1, firing=7)], kiln)
    >>> band.wanted_peak > 804.0 and round(band.points[0].peak, 1) == 804.0
    True
    """
    terms = GlassTerms(situation)
    if structural_gate(situation, terms.top, StepLimits(max_temperature=inf)) is not None:
        return None
    return band_of(weigh(past, situation))


def band_of(history: History) -> TuningBand:
    """The same from a history that is already weighed."""
    terms, beliefs = history.terms, history.beliefs
    degree, offset = terms.per_degree, terms.situation.offset
    points = _points(history)
    own_peak = terms.top.peak
    away = [abs(point.peak - own_peak) for point in points]
    wanted_peak = float(terms.felt.peak_for(beliefs.wanted)) - offset
    reach = max(LEAST_REACH, abs(wanted_peak - own_peak) + MARGIN, *(one + MARGIN for one in away))
    reach = min(reach, FARTHEST)
    peaks = np.linspace(own_peak - reach, own_peak + reach, NODES)
    ln_work = terms.felt.ln_heat_work(peaks + offset)
    low, middle, high = judgement_quantiles(beliefs, ln_work, BAND)
    return TuningBand(
        ln_heat_work=ln_work,
        peaks=peaks,
        chances=beliefs.chances(ln_work, terms.situation.repeatability * degree),
        low=low,
        middle=middle,
        high=high,
        own_peak=own_peak,
        wanted=beliefs.wanted,
        doubt=beliefs.doubt,
        wanted_peak=wanted_peak,
        peak_doubt=beliefs.doubt / degree,
        points=points,
    )


def judgement_quantiles(
    beliefs: Beliefs, ln_heat_work: Floats, shares: Sequence[float]
) -> tuple[Floats, ...]:
    """Quantiles of slope × (ln W − ln W*) at each heat work.

    Parameters
    ----------
    beliefs : see `Beliefs`
    ln_heat_work : shape (n,)
    shares : between 0 and 1, each a quantile

    Returns
    -------
    One array of shape (n,) for each share.
    """
    probability = beliefs.probability.sum(axis=2).ravel()
    away = ln_heat_work[:, None, None] - beliefs.targets[:, None]
    judged = (away * beliefs.slopes).reshape(ln_heat_work.size, -1)
    order = np.argsort(judged, axis=1)
    ranked = np.take_along_axis(judged, order, axis=1)
    shares_there = probability[order]
    below = np.cumsum(shares_there, axis=1) - shares_there / 2
    return tuple(
        np.array([np.interp(share, row, values) for row, values in zip(below, ranked, strict=True)])
        for share in shares
    )


def _points(history: History) -> tuple[TuningPoint, ...]:
    terms = history.terms
    placed = history.evidence
    peaks = terms.felt.peak_for([one.ln_heat_work for one in placed]) - terms.situation.offset
    points = []
    for one, peak, rests in zip(placed, peaks.tolist(), reversed(history.rests_on), strict=True):
        spread = history.spread_here(one.firing)
        points.append(
            TuningPoint(
                firing=one.firing.firing,
                kiln=one.firing.kiln,
                here=history.is_here(one.firing),
                ln_heat_work=one.ln_heat_work,
                uncertainty=spread,
                peak=peak,
                peak_uncertainty=spread / terms.per_degree,
                verdict=one.firing.verdict or 0,
                weight=rests.weight,
            )
        )
    return tuple(points)
