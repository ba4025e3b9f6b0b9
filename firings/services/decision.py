"""Which change of the top gives the best chance of "as wanted" next time, if any."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firings.services.evidence import LONGEST_HOLD, Situation, StepLimits
from firings.services.process_rules import allowed_range, lever_preferences
from firings.services.reasons import Reason
from firings.services.top import GlassTerms
from firings.services.verdict_model import Beliefs

Floats = NDArray[np.float64]

AS_WANTED, WELL_PAST = 2, 4
"""Positions among the five verdicts."""

COST_OF_CHANGE = 0.02
"""Share of its worth that a change of the whole step limit costs; a smaller one in proportion."""
WELL_PAST_COST = 1.0
"""How often the chance not to come out well past counts: such a piece is mostly lost, one that fell
short can be fired again."""
LEAST_GAIN = 0.005
"""Chance of "as wanted" that a change must gain: less can't be told from firing again."""
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Candidates:
    """Changes that can be keyed: the first is none; never peak and hold at once.

    Attributes
    ----------
    peak_changes : °C, shape (n,)
    hold_changes : s, shape (n,)
    ln_heat_work : of the changed schedule, in the glass, shape (n,)
    """

    peak_changes: Floats
    hold_changes: Floats
    ln_heat_work: Floats


@dataclass(frozen=True)
class Decision:
    """The change chosen, both 0 for none, and the chances of the five verdicts without and with."""

    peak_change: float
    hold_change: float
    chances_now: tuple[float, ...]
    chances_then: tuple[float, ...]
    reasons: tuple[Reason, ...]


def keyable_changes(terms: GlassTerms, limits: StepLimits) -> Candidates:
    """Every change of the peak or of the hold that limits, kiln, process and controller allow."""
    top, situation = terms.top, terms.situation
    peaks = _steps(limits.peak, limits.peak_resolution)
    peaks = peaks[[peak_limit_broken(terms, limits, change) is None for change in peaks.tolist()]]
    holds = _steps(limits.hold, limits.hold_resolution)
    holds = holds[(top.hold + holds >= -_ROUNDING) & (top.hold + holds <= LONGEST_HOLD)]
    if not _target_moves(situation, top.index):
        holds = holds[top.hold + holds > 0]  # a target that does not move has to be held
    peak_changes = np.concatenate([[0.0], peaks, np.zeros(holds.size)])
    hold_changes = np.concatenate([[0.0], np.zeros(peaks.size), holds])
    held = np.maximum(top.hold + hold_changes, 0.0)
    return Candidates(peak_changes, hold_changes, terms.of_top(top.peak + peak_changes, held))


def peak_limit_broken(terms: GlassTerms, limits: StepLimits, change: float) -> str | None:
    """Which limit a change of the peak (°C) breaks, whatever its size, or None.

    "kiln" where it can't or must not go there, "top" where another target would be the highest,
    "process" where the process ends there. A peak that lies outside already may come back.
    """
    situation, changed = terms.situation, terms.top.peak + change
    if changed > limits.max_temperature or not situation.response.reaches(changed):
        return "kiln"
    if changed < terms.top.floor:
        return "top"
    allowed = allowed_range(situation)
    if allowed is None:
        return None
    felt = changed + situation.offset
    outside = felt > allowed.high if change > 0 else felt < allowed.low
    return "process" if outside else None


def decide(
    beliefs: Beliefs,
    terms: GlassTerms,
    limits: StepLimits,
    *,
    up_barred: Reason | None = None,
    down_barred: Reason | None = None,
) -> Decision:
    """Choose the change that makes "as wanted" likeliest, or none.

    Parameters
    ----------
    beliefs : what the schedule wants, see `verdict_model.infer`
    terms : the schedule in its kiln
    limits : see `StepLimits`
    up_barred, down_barred : why there must be no more, or no less, heat work

    Returns
    -------
    Decision. None where the change would be smaller than what the kiln repeats to, or its gain too
    small to be told from firing again. The worth of a change is its chance of "as wanted", times
    that of not coming out well past, less the cost of changing, times the preference of the
    process: shares of it, so that for a given slope and noise a lower target never makes a higher
    change the best.
    """
    situation = terms.situation
    changes = keyable_changes(terms, limits)
    moved = changes.ln_heat_work - terms.own
    repeats_to = situation.repeatability * terms.per_degree
    chances = beliefs.chances(changes.ln_heat_work, repeats_to)
    spared = (1 - chances[:, WELL_PAST]) ** WELL_PAST_COST
    worth = chances[:, AS_WANTED] * spared * _shares(changes, moved, terms, limits)
    reasons: list[Reason] = []
    for barred, closed in ((up_barred, moved > 0), (down_barred, moved < 0)):
        if barred is not None and np.any(worth[closed] > worth[0]):
            reasons.append(barred)
            worth = np.where(closed, -1.0, worth)
    liked = int(np.argmax(worth))
    # A change that the kiln's own spread would hide is none; one just large enough may still do.
    seen = np.abs(moved) >= repeats_to
    best = int(np.argmax(np.where(seen | (np.arange(moved.size) == 0), worth, -1.0)))
    gain = float(chances[best, AS_WANTED] - chances[0, AS_WANTED])
    if liked and not best:
        reasons.append(
            Reason(
                "within_repeatability",
                {
                    "change": float(abs(moved[liked])) / terms.per_degree,
                    "repeatability": situation.repeatability,
                },
            )
        )
    elif best and gain < LEAST_GAIN:
        reasons.append(Reason("gain_within_noise", {"gain": gain, "least": LEAST_GAIN}))
        best = 0
    elif not best and not reasons:
        reasons.append(_why_none_is_better(beliefs, terms, moved))
    return Decision(
        float(changes.peak_changes[best]),
        float(changes.hold_changes[best]),
        tuple(chances[0].tolist()),
        tuple(chances[best].tolist()),
        tuple(reasons),
    )


def _why_none_is_better(beliefs: Beliefs, terms: GlassTerms, moved: Floats) -> Reason:
    """Either it is right as it is, or there is no room on the side where it ought to go."""
    missing = beliefs.wanted - terms.own
    room = moved.max() if missing > 0 else -moved.min()
    if abs(missing) > beliefs.judging_spread and room <= 0:
        return Reason("no_room", {"missing": missing / terms.per_degree})
    return Reason("best_as_it_is", {"missing": missing / terms.per_degree})


def _shares(changes: Candidates, moved: Floats, terms: GlassTerms, limits: StepLimits) -> Floats:
    """What each change keeps of its worth after its cost and by the liking of its process."""
    felt = terms.top.peak + terms.situation.offset
    shares = np.ones(moved.size)
    for up, side in ((True, moved > 0), (False, moved < 0)):
        by_peak, by_hold = lever_preferences(terms.situation.process, felt, up=up)
        shares[side & (changes.peak_changes != 0)] *= by_peak
        shares[side & (changes.hold_changes != 0)] *= by_hold
    size = np.abs(changes.peak_changes) / (limits.peak or 1.0)
    size = size + np.abs(changes.hold_changes) / (limits.hold or 1.0)
    result: Floats = shares * np.exp(-COST_OF_CHANGE * size)
    return result


def _steps(limit: float, resolution: float) -> Floats:
    """All multiples of the resolution within the limit but 0, the smallest first."""
    count = int(limit / resolution + _ROUNDING)
    sizes = np.arange(1, count + 1) * resolution
    steps: Floats = np.stack([sizes, -sizes], axis=-1).ravel()
    return steps


def _target_moves(situation: Situation, index: int) -> bool:
    before = situation.segments[index - 1].target if index else situation.response.ambient
    return situation.segments[index].target != before
