"""Where each firing of a schedule lies in heat work, beside the schedule as it stands.

Source: our own model of verdicts, see `firings.services.weighing`.
"""

from collections.abc import Hashable
from dataclasses import dataclass, replace

from firings.services.verdict_model import Beliefs
from firings.services.weighing import History

AS_IF = 0
"""The verdict lent to a firing that nobody judged: where it lies does not depend on it."""


@dataclass(frozen=True)
class PlacedFiring:
    """The heat work of one firing, told as a peak.

    Attributes
    ----------
    peak : °C of the display of the kiln of the next firing at which the schedule, with the hold
        that it has now, gives that heat work
    difference : the same less the schedule's peak as it stands, °C
    doubt : standard deviation of both, °C
    here : whether it was in the kiln of the next firing, since its last service
    expected : how far the judge would be expected to put it, on the scale of the verdicts
    """

    peak: float
    difference: float
    doubt: float
    here: bool
    expected: float


def placed_firings(history: History) -> dict[Hashable, PlacedFiring]:
    """Every firing with a heat work that can be taken seriously, judged or not, by its name.

    Parameters
    ----------
    history : see `weigh`

    Returns
    -------
    A firing without a name, and one that lies too far away to say anything, is left out.

    Examples
    --------
    >>> from firings.services.evidence import PastFiring, Situation
    >>> from firings.services.weighing import weigh
    >>> from schedules.services.curve import Segment, planned_curve
    >>> from studio.services.glass import Glass
    >>> from studio.services.kiln_response import KilnResponse
    >>> fuse = [Segment(200.0, 804.0, 600.0), Segment(None, 510.0, 3600.0)]
    >>> kiln = Situation(fuse, KilnResponse(1100.0, 7200.0, 10800.0), Glass(), "A")
    >>> work = planned_curve(fuse, kiln.response).heat_work(kiln.glass)
    >>> history = weigh([PastFiring("A", work, 0.1, None, firing=7)], kiln)
    >>> placed = placed_firings(history)[7]
    >>> round(placed.peak, 1), round(placed.difference, 1) + 0.0, placed.here
    (804.0, 0.0, True)
    """
    lent = [one if one.tells else replace(one, verdict=AS_IF) for one in history.ordered]
    terms = history.terms
    evidence = History(lent, terms, history.exchange).evidence
    if not evidence:
        return {}
    offset, own = terms.situation.offset, terms.top.peak
    peaks = terms.felt.peak_for([one.ln_heat_work for one in evidence]) - offset
    return {
        one.firing.firing: PlacedFiring(
            peak=peak,
            difference=peak - own,
            doubt=history.spread_here(one.firing) / terms.per_degree,
            here=history.is_here(one.firing),
            expected=expected_judgement(history.beliefs, one.ln_heat_work),
        )
        for one, peak in zip(evidence, peaks.tolist(), strict=True)
        if one.firing.firing is not None
    }


def expected_judgement(beliefs: Beliefs, ln_heat_work: float) -> float:
    """The mean of slope × (ln W − ln W*), on the scale of the verdicts: within −2 and +2.

    Examples
    --------
    >>> from firings.services.verdict_model import Doubt, infer
    >>> beliefs = infer([], 0.0, Doubt(0.4, 0.3, 0.1), "A")
    >>> round(expected_judgement(beliefs, 0.0), 6) + 0.0, expected_judgement(beliefs, 9.0)
    (0.0, 2.0)
    """
    by_slope = beliefs.probability.sum(axis=2)
    away = ln_heat_work - beliefs.targets
    mean = float((away[:, None] * beliefs.slopes * by_slope).sum())
    return min(max(mean, -2.0), 2.0)
