"""What would make a next-time note surer: by how much one more judged firing narrows its doubt.

Source: our own model of verdicts, see `firings.services.verdict_model`.
"""

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np

from firings.services.evidence import UNCERTAINTIES
from firings.services.verdict_model import Beliefs, log_chances
from firings.services.weighing import History

LEAST_NARROWER = 0.2
"""°C: a doubt that shrinks by less is told as staying."""


@dataclass(frozen=True)
class Surer:
    """How sure the note is, and what would make it surer.

    Attributes
    ----------
    doubt : standard deviation of what the schedule wants, now, °C of peak
    doubt_then : the same after one more judged firing of the schedule as it stands, on average over
        the verdicts that it may bring, °C; by what is recorded of it, as in `UNCERTAINTIES`
    waiting : names the firings in this kiln, since its last service, that nobody judged
    kilns : other kilns with judged firings whose offset nobody measured
    """

    doubt: float
    doubt_then: dict[str, float]
    waiting: tuple[Hashable, ...]
    kilns: tuple[Hashable, ...]

    @property
    def narrows(self) -> bool:
        """Whether one more firing, its readings on record, would make a difference to a reader."""
        return self.doubt - min(self.doubt_then.values()) >= LEAST_NARROWER


def what_would_help(history: History) -> Surer:
    """Foretell what one more judged firing would do to the doubt.

    Parameters
    ----------
    history : see `weigh`

    Examples
    --------
    >>> from firings.services.evidence import Situation
    >>> from firings.services.weighing import weigh
    >>> from schedules.services.curve import Segment
    >>> from studio.services.glass import Glass
    >>> from studio.services.kiln_response import KilnResponse
    >>> fuse = [Segment(200.0, 804.0, 600.0), Segment(None, 510.0, 3600.0)]
    >>> kiln = Situation(fuse, KilnResponse(1100.0, 7200.0, 10800.0), Glass(), "A")
    >>> surer = what_would_help(weigh([], kiln))
    >>> then = surer.doubt_then
    >>> surer.doubt > then["plan_only"] > then["peak_and_duration"] > then["full_recording"]
    True
    """
    beliefs, degree = history.beliefs, history.terms.per_degree
    offsets = history.terms.situation.offsets or {}
    own = history.terms.situation.kiln
    elsewhere = dict.fromkeys(one.firing.kiln for one in history.evidence)
    return Surer(
        doubt=beliefs.doubt / degree,
        doubt_then={
            kind: doubt_after(beliefs, history.terms.own, uncertainty) / degree
            for kind, uncertainty in UNCERTAINTIES.items()
        },
        waiting=tuple(
            one.firing
            for one in history.firings_here
            if one.verdict is None and one.firing is not None
        ),
        kilns=tuple(kiln for kiln in elsewhere if kiln != own and kiln not in offsets),
    )


def doubt_after(beliefs: Beliefs, ln_heat_work: float, uncertainty: float) -> float:
    """Expected standard deviation of the wanted ln(heat work) after one more verdict.

    Parameters
    ----------
    beliefs : as they are
    ln_heat_work : of the firing to come
    uncertainty : standard deviation with which that will be known

    Examples
    --------
    >>> from firings.services.verdict_model import Doubt, infer
    >>> beliefs = infer([], 0.0, Doubt(0.4, 0.3, 0.1), "A")
    >>> beliefs.doubt > doubt_after(beliefs, 0.0, 0.2) > doubt_after(beliefs, 0.0, 0.05)
    True
    """
    likelihood = np.exp(
        log_chances(ln_heat_work - beliefs.targets, beliefs.slopes, beliefs.noises, uncertainty)
    )
    by_target = (likelihood * beliefs.probability).sum(axis=(2, 3))
    chance = by_target.sum(axis=1)
    mean = (by_target @ beliefs.targets) / chance
    square = (by_target @ beliefs.targets**2) / chance
    return float(chance @ np.sqrt(np.maximum(square - mean**2, 0.0)))
