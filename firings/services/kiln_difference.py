"""By how much one kiln runs hotter than another, by their records and by what both have fired."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from firings.services.evidence import PastFiring, Placed, Situation
from firings.services.kiln_offset import MeasuredOffset
from firings.services.measured import DEVIATIONS
from firings.services.top import GlassTerms
from firings.services.verdict_model import Beliefs, Doubt, Judgement, infer
from firings.services.weighing import (
    KNOWN_KILN_DOUBT,
    OFFSET_DOUBT,
    SCHEDULE_DOUBT,
    History,
)

Floats = NDArray[np.float64]

MEASURED_DOUBT = KNOWN_KILN_DOUBT / sqrt(2)
"""°C of doubt of one kiln's offset, where it was measured: half of the variance between two."""
_REACH = 4.0
"""Standard deviations of what the records leave open, over which a difference is looked for."""
_STEPS = 161


@dataclass(frozen=True)
class OffsetDifference:
    """By how much the glass gets hotter in one kiln than in another at the same display, °C.

    Attributes
    ----------
    value : positive where the kiln that a schedule is moved to is the hotter one
    doubt : its standard deviation
    firings_from, firings_to : judged firings of the schedule behind it in the kiln that it comes
        from and in the one it goes to; 0 where it is by the records alone
    """

    value: float
    doubt: float
    firings_from: int = 0
    firings_to: int = 0


def recorded_difference(
    offset_from: float,
    offset_to: float,
    *,
    measured_from: bool,
    measured_to: bool,
    spread_from: float | None = None,
    spread_to: float | None = None,
) -> OffsetDifference:
    """By the offsets on record.

    Parameters
    ----------
    offset_from, offset_to : glass minus display, °C
    measured_from, measured_to : whether somebody measured them; one that nobody measured may be off
        by as much as kilns differ
    spread_from, spread_to : ± °C that holds 95 of 100, where measurements near the top are on
        record that bear the offset out; None where only its evidence in words is

    Examples
    --------
    >>> both = recorded_difference(0.0, 12.0, measured_from=True, measured_to=True)
    >>> both.value, round(both.doubt, 1)
    (12.0, 4.0)
    """
    told = ((measured_from, spread_from), (measured_to, spread_to))
    doubts = [
        (MEASURED_DOUBT if measured else OFFSET_DOUBT) if spread is None else spread / DEVIATIONS
        for measured, spread in told
    ]
    return OffsetDifference(offset_to - offset_from, hypot(*doubts))


def measured_difference(here: MeasuredOffset, there: MeasuredOffset) -> OffsetDifference:
    """By what was measured in both near one temperature.

    Examples
    --------
    >>> here = MeasuredOffset(482.0, -2.0, 4.0, 480.0, 484.0, 1, 1, 0.0)
    >>> there = MeasuredOffset(482.0, 4.0, 4.0, 480.0, 484.0, 1, 1, 0.0)
    >>> both = measured_difference(here, there)
    >>> both.value, round(both.doubt, 1)
    (6.0, 2.8)
    """
    return OffsetDifference(there.value - here.value, hypot(here.doubt, there.doubt))


def difference_by_repeats(
    past: Sequence[PastFiring],
    situation: Situation,
    to: Hashable,
    to_epoch: int,
    recorded: OffsetDifference,
) -> OffsetDifference | None:
    """By what the same schedule came to in both kilns, with the records as what was known before.

    Parameters
    ----------
    past : firings of the schedule in both kilns; others are left out, and so is what was fired
        before a kiln's last service, and where something else changed at the same time
    situation : of the kiln that it comes from, with its `service_epoch` and the other's offset in
        `offsets`
    to : names the other kiln
    to_epoch : its service epoch now
    recorded : see `recorded_difference`

    Returns
    -------
    None where one of the two has no judged firing that tells anything, or the kiln does not reach
    the top.

    Raises
    ------
    ValueError
        Where the kiln that it comes from does not reach its top.

    Examples
    --------
    >>> from schedules.services.curve import Segment, planned_curve
    >>> from studio.services.glass import Glass
    >>> from studio.services.kiln_response import KilnResponse
    >>> fuse = [Segment(300.0, 804.0, 600.0), Segment(None, 482.0, 3600.0)]
    >>> kiln = KilnResponse(1250.0, 4950.0, 12_600.0)
    >>> here = Situation(fuse, kiln, Glass(), "A", service_epoch=0, offsets={"B": 0.0})
    >>> work = planned_curve(fuse, kiln).heat_work(Glass())
    >>> fired = [PastFiring("A", work, 0.05, 0), PastFiring("B", work, 0.05, 2)]
    >>> before = recorded_difference(0.0, 0.0, measured_from=False, measured_to=False)
    >>> after = difference_by_repeats(fired, here, "B", 0, before)
    >>> after.value > 3.0, after.doubt < before.doubt
    (True, True)
    """
    terms = GlassTerms(situation)
    history = History(past, terms)
    there = [one for one in history.evidence if _is_in(one.firing, to, to_epoch)]
    here = [one for one in history.evidence if _is_in(one.firing, situation.kiln, history.epoch)]
    if not here or not there:
        return None
    degree = terms.per_degree
    doubt = Doubt(hypot(SCHEDULE_DOUBT, OFFSET_DOUBT) * degree, 0.0, 0.0)
    by_here, by_there = (
        infer(_judgements(group, situation.kiln), terms.own, doubt, situation.kiln)
        for group in (here, there)
    )
    apart = np.linspace(-_REACH, _REACH, _STEPS) * recorded.doubt
    weights = np.exp(-((apart / recorded.doubt) ** 2) / 2)
    weights *= _agreement(by_here, by_there, apart * degree, terms.own, doubt.target)
    weights /= weights.sum()
    mean = float(weights @ apart)
    spread = sqrt(float(weights @ (apart - mean) ** 2))
    return OffsetDifference(recorded.value + mean, spread, len(here), len(there))


def _is_in(firing: PastFiring, kiln: Hashable, epoch: int) -> bool:
    same = firing.kiln == kiln and firing.service_epoch == epoch
    return same and not firing.also_changed


def _judgements(group: Sequence[Placed], kiln: Hashable) -> list[Judgement]:
    """As if all were fired in one kiln: what lies between the two is looked for outside."""
    return [
        Judgement(
            one.ln_heat_work,
            one.firing.uncertainty,
            one.firing.verdict or 0,
            kiln,
            sitting=one.firing.sitting,
        )
        for one in group
    ]


def _agreement(
    here: Beliefs, there: Beliefs, shifts: Floats, centre: float, spread: float
) -> Floats:
    """How well the two go together where the other kiln lies that much hotter; shape of `shifts`.

    A firing that was hotter than it was taken for by a shift tells of a target higher by it.
    """
    targets = here.targets
    prior = np.exp(-(((targets - centre) / spread) ** 2) / 2)
    prior /= prior.sum()
    seen = there.probability.sum(axis=(1, 2)) / prior
    own = here.probability.sum(axis=(1, 2))
    moved = [np.interp(targets - shift, targets, seen) for shift in shifts.tolist()]
    result: Floats = np.array(moved) @ own
    return result
