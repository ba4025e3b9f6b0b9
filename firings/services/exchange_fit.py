"""How much a minute of hold is worth against a degree of peak, from a schedule's own firings.

By the glass's viscosity a degree and a minute have a fixed exchange. What a piece really shows (an
edge, a sag, a texture) may follow another activation energy. Where firings with holds that differ
were judged, their verdicts tell: each factor on the activation is weighed by how likely it makes
them, beginning with the viscosity's own.

Source: our own model, see `firings.services.verdict_model`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from scipy.interpolate import CubicSpline

from firings.services.evidence import PastFiring
from firings.services.top import GlassTerms
from firings.services.verdict_model import Doubt, Floats, Judgement, infer

SPREAD = 0.2
"""Standard deviation of ln(factor) beforehand: our own estimate. Measured soda-lime glasses differ
by 5 % at the temperature of a fuse; what is judged is not their flow alone."""
SCORES = np.linspace(-2.0, 2.0, 5)
"""Standard deviations at which the verdicts are weighed; between them the weight is smooth."""
FINE_SCORES = np.linspace(-2.0, 2.0, 81)
LEAST_FIRINGS = 4
LEAST_SPAN = 300.0
"""s by which the holds must differ for anything to be seen."""
MOST_FIRINGS = 60
"""The latest ones: more tell no better, and take longer."""
CARRIES = 0.75
"""Share of the doubt beforehand that may be left for a factor to be used."""


@dataclass(frozen=True)
class ExchangeFit:
    """What a schedule's own firings say of the exchange between peak and hold.

    Attributes
    ----------
    factor : by which temperature counts more against time than by the viscosity
    doubt : standard deviation of ln(factor)
    firings : how many it was learnt from
    """

    factor: float
    doubt: float
    firings: int


def fit_exchange(
    judged: Sequence[tuple[PastFiring, float]],
    plain: GlassTerms,
    doubt: Doubt,
) -> ExchangeFit | None:
    """Learn the exchange from the firings in one kiln.

    Parameters
    ----------
    judged : firings in this kiln since its last service, first to last, each with the standard
        deviation of its ln(heat work); those without a known hold are passed over
    plain : the schedule in its kiln, by the glass's own viscosity
    doubt : what is not known beforehand, see `Doubt`

    Returns
    -------
    ExchangeFit; None where the firings don't carry one: too few, holds too alike, or verdicts that
    leave more than three quarters of the doubt.

    Examples
    --------
    >>> from firings.services.evidence import Situation
    >>> from schedules.services.curve import Segment
    >>> from studio.services.glass import Glass
    >>> from studio.services.kiln_response import KilnResponse
    >>> fuse = [Segment(200.0, 804.0, 600.0), Segment(None, 510.0, 3600.0)]
    >>> kiln = Situation(fuse, KilnResponse(1100.0, 7200.0, 10800.0), Glass(), "A")
    >>> fit_exchange([], GlassTerms(kiln), Doubt(0.3, 0.3, 0.1)) is None
    True
    """
    telling = [(one, spread) for one, spread in judged if one.known_hold is not None]
    telling = telling[-MOST_FIRINGS:]
    holds = [one.known_hold for one, _ in telling if one.known_hold is not None]
    if len(telling) < LEAST_FIRINGS or max(holds) - min(holds) < LEAST_SPAN:
        return None
    situation = plain.situation
    ln_works = np.log([one.heat_work for one, _ in telling])
    peaks = plain.display.peak_for(ln_works, holds) + situation.offset
    weights = []
    for score in SCORES.tolist():
        terms = GlassTerms(situation, exp(SPREAD * score)) if score else plain
        placed = terms.felt.ln_heat_work(peaks, holds)
        judgements = [
            Judgement(
                ln_work,
                spread,
                one.verdict or 0,
                one.kiln,
                one.service_epoch,
                sitting=one.sitting,
            )
            for (one, spread), ln_work in zip(telling, placed.tolist(), strict=True)
        ]
        beliefs = infer(judgements, terms.own, doubt, situation.kiln)
        weights.append(beliefs.log_evidence)
    mean, left = _moments(CubicSpline(SCORES, weights)(FINE_SCORES))
    if left > CARRIES * UNFITTED:
        return None
    return ExchangeFit(exp(SPREAD * mean), SPREAD * left, len(telling))


def _moments(log_likelihood: Floats) -> tuple[float, float]:
    """Mean and standard deviation of the score, with its prior."""
    weights = log_likelihood - FINE_SCORES**2 / 2
    probability = np.exp(weights - weights.max())
    probability /= probability.sum()
    mean = float(probability @ FINE_SCORES)
    return mean, sqrt(float(probability @ (FINE_SCORES - mean) ** 2))


UNFITTED = _moments(np.zeros_like(FINE_SCORES))[1]
"""Of the score where nothing was learnt: that of a normal cut at its ends."""
