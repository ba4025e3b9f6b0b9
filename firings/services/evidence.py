"""What advice is drawn from: past firings, the schedule as it stands, and the limits of a step."""

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass
from datetime import date

from schedules.services.curve import Segment
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

VERDICTS = (-2, -1, 0, 1, 2)

# How well ln(heat work) is known, by what was recorded: standard deviations, our own estimates at
# a top near 800 °C, where 1 °C is about 0.035.
FULL_RECORDING_UNCERTAINTY = 0.05  # what a display repeats to: about 1.5 °C
PEAK_AND_DURATION_UNCERTAINTY = 0.12  # the same, and the true hold known to a minute or two
PLAN_ONLY_UNCERTAINTY = 0.20  # nobody looked: 5 °C or 5 minutes off would pass unseen

BROUGHT_IN_UNCERTAINTY = PLAN_ONLY_UNCERTAINTY
"""What a firing from somebody's sheet is less sure beside one that was logged here, whatever stands
in the sheet: whether that revision was keyed, in that kiln as its record has it now, nobody looked.
No figure of its own: it is what such a look is worth."""

KEPT_TO_PLAN = 0.05
"""Standard deviation of what a display does against what was keyed, where nothing says that it was
missed: a degree, or half a minute of the hold."""

LONGEST_HOLD = 86_400.0
"""s: a day. A longer one is neither advised nor believed."""

UNCERTAINTIES = {
    "full_recording": FULL_RECORDING_UNCERTAINTY,
    "peak_and_duration": PEAK_AND_DURATION_UNCERTAINTY,
    "plan_only": PLAN_ONLY_UNCERTAINTY,
}


def heat_work_uncertainty(kind: str) -> float:
    """Standard deviation of ln(heat work) for what was recorded of a firing.

    Parameters
    ----------
    kind : "full_recording", "peak_and_duration" or "plan_only".

    Raises
    ------
    ValueError: for another kind.

    Examples
    --------
    >>> heat_work_uncertainty("plan_only")
    0.2
    """
    try:
        return UNCERTAINTIES[kind]
    except KeyError:
        raise ValueError(f"{kind!r} is none of {', '.join(UNCERTAINTIES)}") from None


def brought_in_uncertainty(uncertainty: float) -> float:
    """Standard deviation of ln(heat work) for a firing that was brought in with a list.

    Parameters
    ----------
    uncertainty : for what its row tells (`heat_work_uncertainty`)

    Examples
    --------
    >>> [round(brought_in_uncertainty(heat_work_uncertainty(kind)), 3)
    ...  for kind in ("peak_and_duration", "plan_only")]
    [0.233, 0.283]
    """
    return math.hypot(uncertainty, BROUGHT_IN_UNCERTAINTY)


def beside_the_plan(heat_work: float, planned: float) -> tuple[float, float]:
    """What a peak and a duration as noted tell, beside what was keyed and not missed.

    A noted peak is read once and a hold to the minute, which is coarser than a controller keeps to
    its plan; both together, weighed by how well they are known, are better than either.

    Parameters
    ----------
    heat_work : by peak and duration as noted, 1/Pa
    planned : of the schedule as keyed, 1/Pa

    Returns
    -------
    heat work : 1/Pa
    uncertainty : standard deviation of its logarithm, what a display repeats to included

    Raises
    ------
    ValueError: for a heat work that is not above 0.

    Examples
    --------
    >>> heat_work, uncertainty = beside_the_plan(1.2e-4, 1.0e-4)
    >>> round(heat_work * 1e4, 2), round(uncertainty, 3)
    (1.03, 0.068)
    """
    if not (heat_work > 0 and planned > 0):
        raise ValueError("a heat work is above 0")
    read = PEAK_AND_DURATION_UNCERTAINTY**2 - FULL_RECORDING_UNCERTAINTY**2
    share = KEPT_TO_PLAN**2 / (KEPT_TO_PLAN**2 + read)
    ln_work = math.log(planned) + share * math.log(heat_work / planned)
    return math.exp(ln_work), math.hypot(math.sqrt(share * read), FULL_RECORDING_UNCERTAINTY)


@dataclass(frozen=True)
class PastFiring:
    """One firing of a schedule, its pieces already combined into one verdict.

    Attributes
    ----------
    kiln : names the kiln; compared with `Situation.kiln`.
    heat_work : 1/Pa, in display temperatures of that kiln.
    uncertainty : standard deviation of ln(heat work).
    verdict : −2 well short, −1 a touch short, 0 as wanted, +1 a touch far, +2 well past; None
        where nobody judged it, which never counts as "as wanted".
    faults : codes of what else went wrong.
    firing : names the firing in what the advice says.
    fired_on : the day or moment of firing; where one is missing, the order given is kept.
    place, thickness_class : where the judged piece lay, and how thick it is, if known.
    service_epoch : counts the kiln's services that may move its temperature (a thermocouple,
        elements): 0 before the first of them.
    missed_plan : the kiln did not do what was keyed.
    also_changed : what else differed from the firing before.
    hold : s at the top as far as it is known: with it a heat work tells the peak, and the exchange
        between peak and hold can be learnt.
    mass_ratio : of the heaviest piece in the load to the lightest, where they lie too far apart for
        one firing and did not come out alike (see `pieces`); None otherwise.
    sitting : names the sitting at which it was judged beside other firings of one test series, by
        the same person; None where it was judged by itself.

    Examples
    --------
    >>> PastFiring("A", 2e-4, 0.12, -1).faults
    ()
    """

    kiln: Hashable
    heat_work: float
    uncertainty: float
    verdict: int | None
    faults: tuple[str, ...] = ()
    _: KW_ONLY
    firing: Hashable | None = None
    fired_on: date | None = None
    place: Hashable | None = None
    thickness_class: Hashable | None = None
    service_epoch: int = 0
    missed_plan: bool = False
    also_changed: tuple[str, ...] = ()
    hold: float | None = None
    mass_ratio: float | None = None
    sitting: Hashable | None = None

    @property
    def known_hold(self) -> float | None:
        """The hold in s, None where it is not known or not to be believed."""
        return self.hold if self.hold is not None and 0 <= self.hold <= LONGEST_HOLD else None

    @property
    def tells(self) -> bool:
        """Whether it is evidence: judged, with a heat work that can be taken seriously."""
        return (
            self.verdict in VERDICTS
            and math.isfinite(self.heat_work)
            and self.heat_work > 0
            and math.isfinite(self.uncertainty)
            and self.uncertainty >= 0
        )


@dataclass(frozen=True)
class Placed:
    """A judged firing with its ln(heat work) in the glass."""

    firing: PastFiring
    ln_heat_work: float


@dataclass(frozen=True)
class Situation:
    """The revision as it stands, in the kiln where it will be fired next.

    Attributes
    ----------
    segments : the revision, in display temperatures of this kiln.
    response : how this kiln heats and cools.
    glass : the glass that the schedule is for.
    kiln : names the kiln, as in `PastFiring.kiln`.
    process : "full_fuse", "slump", …; None where it is not known.
    offset : glass minus display in this kiln, °C.
    repeatability : what this kiln repeats to from firing to firing, °C.
    offsets : the offsets of other kilns, °C, where they are known.
    service_epoch : the kiln's epoch now; None for that of its latest firing.
    process_range : lowest and highest peak of the process in the glass, °C; None for the
        trade's range.
    place, thickness_class : by which the schedule is tuned, where that is known: what lay elsewhere
        or is of another thickness then counts with an unknown shift of its own.
    """

    segments: Sequence[Segment]
    response: KilnResponse
    glass: Glass
    kiln: Hashable
    _: KW_ONLY
    process: str | None = None
    offset: float = 0.0
    repeatability: float = 1.5
    offsets: Mapping[Hashable, float] | None = None
    service_epoch: int | None = None
    process_range: tuple[float, float] | None = None
    place: Hashable | None = None
    thickness_class: Hashable | None = None

    def __post_init__(self) -> None:
        if not self.segments:
            raise ValueError("a schedule needs at least one segment")
        if not self.repeatability >= 0:
            raise ValueError("the repeatability is a difference of 0 °C or more")
        if not math.isfinite(self.offset):
            raise ValueError("the offset is a finite difference in °C")


@dataclass(frozen=True)
class StepLimits:
    """How far one piece of advice may go, and in which steps the controller takes it.

    Attributes
    ----------
    peak, hold : the largest change, °C and s.
    peak_resolution, hold_resolution : the controller's smallest steps, °C and s.
    max_temperature : the kiln's highest display temperature, °C.

    Raises
    ------
    ValueError: for a negative limit or a resolution that is not above 0.
    """

    peak: float = 8.0
    hold: float = 900.0
    peak_resolution: float = 1.0
    hold_resolution: float = 60.0
    max_temperature: float = 1300.0

    def __post_init__(self) -> None:
        if not (self.peak >= 0 and self.hold >= 0):
            raise ValueError("a step limit is 0 or more")
        if not (self.peak_resolution > 0 and self.hold_resolution > 0):
            raise ValueError("a controller's resolution is above 0")


def in_order(past: Sequence[PastFiring]) -> list[PastFiring]:
    """The firings from first to last: by their days where all are known, else as given."""
    if any(firing.fired_on is None for firing in past):
        return list(past)
    return sorted(past, key=lambda firing: firing.fired_on.isoformat() if firing.fired_on else "")
