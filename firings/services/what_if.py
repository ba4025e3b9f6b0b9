"""What if the top were changed: the chance of each verdict, and what would do as much.

Source: our own model of verdicts, see `firings.services.verdict_model`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from firings.services.decision import peak_limit_broken
from firings.services.evidence import PastFiring, Situation, StepLimits
from firings.services.gates import structural_gate
from firings.services.top import GlassTerms
from firings.services.weighing import History, weigh


@dataclass(frozen=True)
class WhatIf:
    """A change of the top that somebody thinks of; it may go beyond what a note would advise.

    Attributes
    ----------
    peak_change, hold_change : as asked, °C and s; both may differ from 0 here
    peak, hold : the top with the change, °C of this kiln's display and s
    chances : of the five verdicts, from well short to well past
    worth : °C of peak that the whole change is worth in heat work
    by_peak : change of the peak alone, °C, with the same heat work; None where no peak that the
        kiln reaches will do
    by_hold : change of the hold alone, s, with the same heat work; None where even no hold at all
        would be too much
    beyond : which limits it breaks: "step" (the studio's largest step), "kiln", "process" (its
        range of peaks), "top" (it would no longer be the highest target, or its hold is negative)
    """

    peak_change: float
    hold_change: float
    peak: float
    hold: float
    chances: tuple[float, ...]
    worth: float
    by_peak: float | None
    by_hold: float | None
    beyond: tuple[str, ...]


def what_if(
    past: Sequence[PastFiring],
    situation: Situation,
    limits: StepLimits,
    *,
    peak_change: float = 0.0,
    hold_change: float = 0.0,
) -> WhatIf | None:
    """Foretell the verdict on a changed top.

    Parameters
    ----------
    past, situation, limits : as for `firings.services.advice.advise`
    peak_change : °C
    hold_change : s

    Returns
    -------
    WhatIf; None where heat work says nothing (an anneal, metal clay, a top out of reach).

    Examples
    --------
    >>> from schedules.services.curve import Segment
    >>> from studio.services.glass import Glass
    >>> from studio.services.kiln_response import KilnResponse
    >>> fuse = [Segment(200.0, 804.0, 600.0), Segment(None, 510.0, 3600.0)]
    >>> kiln = Situation(fuse, KilnResponse(1100.0, 7200.0, 10800.0), Glass(), "A")
    >>> hotter = what_if([], kiln, StepLimits(), peak_change=10.0)
    >>> round(hotter.by_peak, 3), round(hotter.by_hold / 60), hotter.beyond
    (10.0, 11, ('step',))
    """
    told = what_ifs(past, situation, limits, [(peak_change, hold_change)])
    return told[0] if told else None


def what_ifs(
    past: Sequence[PastFiring],
    situation: Situation,
    limits: StepLimits,
    changes: Iterable[tuple[float, float]],
) -> list[WhatIf]:
    """The same for many changes at once, each of the peak in °C and of the hold in s.

    Returns
    -------
    In the order of `changes`; empty where heat work says nothing.
    """
    terms = GlassTerms(situation)
    if structural_gate(situation, terms.top, limits) is not None:
        return []
    return foretold(weigh(past, situation), limits, changes)


def foretold(
    history: History, limits: StepLimits, changes: Iterable[tuple[float, float]]
) -> list[WhatIf]:
    """The same from a history that is already weighed."""
    terms = history.terms
    top, asked = terms.top, np.array(list(changes), dtype=np.float64).reshape(-1, 2)
    if not asked.size:
        return []
    peaks, holds = top.peak + asked[:, 0], np.maximum(top.hold + asked[:, 1], 0.0)
    ln_work = terms.of_top(peaks, holds)
    spread = terms.situation.repeatability * terms.per_degree
    chances = history.beliefs.chances(ln_work, spread)
    return [
        WhatIf(
            peak_change=float(peak_change),
            hold_change=float(hold_change),
            peak=float(top.peak + peak_change),
            hold=float(top.hold + hold_change),
            chances=tuple(chances[number].tolist()),
            worth=float(ln_work[number] - terms.own) / terms.per_degree,
            by_peak=_peak_alone(terms, float(peaks[number]), float(holds[number])),
            by_hold=_hold_alone(terms, float(peaks[number]), float(holds[number])),
            beyond=_beyond(terms, limits, float(peak_change), float(hold_change)),
        )
        for number, (peak_change, hold_change) in enumerate(asked)
    ]


def _peak_alone(terms: GlassTerms, peak: float, hold: float) -> float | None:
    if hold == terms.top.hold:
        return peak - terms.top.peak
    alone = terms.felt.peak_alone(peak + terms.situation.offset, hold)
    return None if alone is None else alone - terms.felt.top.peak


def _hold_alone(terms: GlassTerms, peak: float, hold: float) -> float | None:
    if peak == terms.top.peak:
        return hold - terms.top.hold
    alone = terms.felt.hold_alone(peak + terms.situation.offset, hold)
    return None if alone is None else alone - terms.top.hold


def _beyond(
    terms: GlassTerms, limits: StepLimits, peak_change: float, hold_change: float
) -> tuple[str, ...]:
    broken = []
    if abs(peak_change) > limits.peak or abs(hold_change) > limits.hold:
        broken.append("step")
    by_peak = peak_limit_broken(terms, limits, peak_change) if peak_change else None
    if by_peak is not None:
        broken.append(by_peak)
    if terms.top.hold + hold_change < 0 and "top" not in broken:
        broken.append("top")
    return tuple(broken)
