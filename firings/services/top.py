"""The top of a schedule: which segment it is, and what its peak and its hold are worth.

Everything that the advice compares is ln(heat work) in the glass's own terms. A heat work is
computed from what a display showed; the kiln's offset turns it into what the glass felt, by way of
the peak that this schedule would have needed for it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import ceil, floor

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline

from firings.services.evidence import Situation
from schedules.services.curve import Segment, planned_curve
from schedules.services.exchange import equal_heat_work_hold, equal_heat_work_peak
from studio.services.glass import ANNEALING_ISOKOM, SOFTENING_ISOKOM, Glass, fluidity
from studio.services.kiln_response import REACH, KilnResponse

Floats = NDArray[np.float64]

REACH_OF_TABLE = 60.0
"""°C to both sides of the peak over which the heat work is tabulated; beyond, ln W is a line."""
SPACING = 12.0
"""°C between nodes: a cubic gives ln(heat work) to 1e-4. They lie at its multiples, so that one
table serves every peak nearby."""
FINE_NODES = 601
"""Of the inverse table."""
TABLES_KEPT = 256
UNHELD = 1.0
"""s of hold in a table: a target that does not move has to be held."""
DERIVATIVE_STEP = 0.5
"""°C to both sides."""
ABOVE_THE_REST = 0.5
"""°C by which the top stays above every other target, so that it remains the top."""
TURNS = 4
"""After which a peak for another hold is found to 0.001 °C."""
MOST_OF_THE_WORK = 0.99
"""Of the heat work that a hold can be credited with, far outside the table."""


@dataclass(frozen=True)
class Top:
    """The segment with the highest target: of several, the last.

    Attributes
    ----------
    index : of the segment
    peak : its target, °C
    hold : s
    floor : the lowest peak, °C, with which it would still be the top
    """

    index: int
    peak: float
    hold: float
    floor: float


def find_top(segments: Sequence[Segment]) -> Top:
    """Find the top of a schedule.

    Raises
    ------
    ValueError
        For a schedule without segments.

    Examples
    --------
    >>> find_top([Segment(200.0, 677.0, 0.0), Segment(None, 804.0, 600.0), Segment(None, 510.0)])
    Top(index=1, peak=804.0, hold=600.0, floor=677.5)
    """
    index = max(range(len(segments)), key=lambda i: (segments[i].target, i))
    top = segments[index]
    others = [segment.target for i, segment in enumerate(segments) if i != index]
    floor = max(others, default=-np.inf) + ABOVE_THE_REST
    return Top(index, top.target, top.hold, floor)


def with_top(segments: Sequence[Segment], peak: float, hold: float) -> list[Segment]:
    """The same schedule with another target (°C) and hold (s) at its top, all else untouched.

    Examples
    --------
    >>> with_top([Segment(200.0, 804.0, 600.0), Segment(None, 510.0, 3600.0)], 808.0, 600.0)[0]
    Segment(rate=200.0, target=808.0, hold=600.0)
    """
    index = find_top(segments).index
    changed = list(segments)
    changed[index] = replace(changed[index], target=peak, hold=hold)
    return changed


@dataclass(frozen=True)
class TopHeatWork:
    """ln(heat work) of one schedule as a function of its peak and its hold.

    Parameters
    ----------
    segments : the schedule, °C of the display or of the glass
    response : of the kiln, in the same terms
    glass : see `Glass`
    """

    segments: Sequence[Segment]
    response: KilnResponse
    glass: Glass

    @cached_property
    def top(self) -> Top:
        return find_top(self.segments)

    @property
    def reached(self) -> Sequence[Segment]:
        """Up to the first target that the kiln doesn't reach: after the top it adds nothing."""
        for index, segment in enumerate(self.segments):
            if index != self.top.index and not self.response.reaches(segment.target):
                return self.segments[:index]
        return self.segments

    @cached_property
    def _unheld(self) -> CubicSpline:
        """ln(heat work) over the peak, with hardly any hold."""
        top, segments = self.top, self.reached
        lowest = max(min(top.floor, top.peak), self.response.ambient + 2 * REACH)
        highest = self.response.full_power_limit - 2 * REACH
        low = max(lowest, SPACING * floor((top.peak - REACH_OF_TABLE) / SPACING))
        high = min(highest, SPACING * ceil((top.peak + REACH_OF_TABLE) / SPACING))
        if not self.response.reaches(top.peak) or high - low < 1.0 or len(segments) <= top.index:
            raise ValueError(f"The kiln does not reach the top of this schedule: {top.peak} °C.")
        bare = list(segments)
        bare[top.index] = replace(bare[top.index], target=high, hold=UNHELD)
        return _unheld_table(tuple(bare), top.index, self.response, self.glass, low, high)

    def ln_heat_work(self, peak: ArrayLike, hold: ArrayLike | None = None) -> Floats:
        """ln of the heat work in 1/Pa.

        Parameters
        ----------
        peak : °C, any shape
        hold : s, broadcast with `peak`; None for the schedule's own

        Returns
        -------
        In the shape of both. The kiln waits for its target, so that a longer hold adds exactly its
        seconds over the viscosity at the peak.
        """
        table, peaks = self._unheld, np.asarray(peak, dtype=np.float64)
        held = self.top.hold if hold is None else np.asarray(hold, dtype=np.float64)
        low, high = float(table.x[0]), float(table.x[-1])
        inside = np.clip(peaks, low, high)
        longer = np.maximum(held - UNHELD, -UNHELD)
        unheld = table(inside)
        share = longer * fluidity(inside, self.glass) * np.exp(-unheld)
        ln_work = unheld + np.log1p(np.maximum(share, -MOST_OF_THE_WORK))
        beyond = peaks != inside
        if np.any(beyond):
            ln_work = np.where(beyond, ln_work + table(inside, 1) * (peaks - inside), ln_work)
        return np.asarray(ln_work, dtype=np.float64)

    def per_degree(self, peak: float) -> float:
        """d ln W/dT at a peak, 1/°C, with the schedule's own hold."""
        low, high = float(self._unheld.x[0]), float(self._unheld.x[-1])
        around = np.clip([peak - DERIVATIVE_STEP, peak + DERIVATIVE_STEP], low, high)
        below, above = self.ln_heat_work(around)
        return float((above - below) / (around[1] - around[0]))

    def per_second(self, peak: float, hold: float) -> float:
        """d ln W/d(hold) at a peak (°C) and hold (s), 1/s."""
        return float(fluidity(peak, self.glass) * np.exp(-self.ln_heat_work(peak, hold)))

    def peak_for(self, ln_heat_work: ArrayLike, hold: ArrayLike | None = None) -> Floats:
        """The peak, °C, at which the schedule has this ln(heat work).

        Parameters
        ----------
        ln_heat_work : any shape
        hold : s, broadcast with it; None for the schedule's own
        """
        wanted = np.asarray(ln_heat_work, dtype=np.float64)
        peaks = self._peak_for_own_hold(wanted)
        if hold is None:
            return peaks
        # What a longer hold adds is nearly the same share at every peak: a few turns settle it.
        for _ in range(TURNS):
            longer = self.ln_heat_work(peaks, hold) - self.ln_heat_work(peaks)
            peaks = self._peak_for_own_hold(wanted - longer)
        return peaks

    def hold_alone(self, peak: float, hold: float) -> float | None:
        """The hold (s) with which the schedule's own peak does as much as another top would.

        None where even no hold at all would be too much.
        """
        changed, top = with_top(self.reached, peak, hold), self.top
        return equal_heat_work_hold(changed, top.index, top.peak, self.response, self.glass)

    def peak_alone(self, peak: float, hold: float) -> float | None:
        """The peak (°C) with which the schedule's own hold does as much as another top would."""
        changed, top = with_top(self.reached, peak, hold), self.top
        return equal_heat_work_peak(changed, top.index, top.hold, self.response, self.glass)

    def _peak_for_own_hold(self, wanted: Floats) -> Floats:
        peaks, values = self._by_peak
        inside = np.clip(wanted, values[0], values[-1])
        ends = np.where(wanted < values[0], self._unheld(peaks[0], 1), self._unheld(peaks[-1], 1))
        result = np.interp(inside, values, peaks) + (wanted - inside) / ends
        return np.asarray(result, dtype=np.float64)

    @cached_property
    def _by_peak(self) -> tuple[Floats, Floats]:
        """Peaks, °C, and ln(heat work) with the schedule's own hold, both rising."""
        peaks = np.linspace(float(self._unheld.x[0]), float(self._unheld.x[-1]), FINE_NODES)
        return peaks, self.ln_heat_work(peaks)


@lru_cache(maxsize=TABLES_KEPT)
def _unheld_table(
    segments: tuple[Segment, ...],
    index: int,
    response: KilnResponse,
    glass: Glass,
    low: float,
    high: float,
) -> CubicSpline:
    """Kept, since one note asks for the tables of another and pages ask again and again."""
    inner = np.arange(SPACING * ceil((low + 1) / SPACING), high - 1, SPACING)
    peaks = np.array([low, *inner, high])
    changed, values = list(segments), []
    for peak in peaks.tolist():
        changed[index] = replace(changed[index], target=peak)
        values.append(planned_curve(changed, response).heat_work(glass))
    return CubicSpline(peaks, np.log(values))


def with_steeper_viscosity(glass: Glass, factor: float, pivot: float) -> Glass:
    """A glass whose fluidity changes `factor` times as fast with temperature, the same at a pivot.

    Parameters
    ----------
    glass : see `Glass`
    factor : above 0; of d ln(1/η)/dT at every temperature above the annealing point
    pivot : °C, above the annealing point, at which the viscosity stays

    Raises
    ------
    ValueError
        As `Glass`, for a factor that no glass has.

    Examples
    --------
    >>> steep = with_steeper_viscosity(Glass(), 1.2, 804.0)
    >>> ratio = fluidity(804.0, steep) / fluidity(804.0, Glass())
    >>> round(ratio, 6), fluidity(790.0, steep) < fluidity(790.0, Glass())
    (1.0, True)
    """
    law = glass.viscosity_law
    slope = factor * law.slope
    limit = law.limit + law.slope * (1 - factor) / (pivot - law.pole)
    annealing = law.pole + slope / (ANNEALING_ISOKOM - limit)
    return replace(
        glass,
        strain_point=glass.strain_point + annealing - glass.annealing_point,
        annealing_point=annealing,
        softening_point=law.pole + slope / (SOFTENING_ISOKOM - limit),
        working_point=None,
        high_temperature_limit=limit,
    )


@dataclass(frozen=True)
class GlassTerms:
    """Carries heat work from the terms of a display into those of the glass.

    Parameters
    ----------
    situation : see `Situation`
    exchange_factor : how much more temperature counts against time than by the glass's viscosity;
        1 as long as the studio's own firings don't say otherwise (see `exchange_fit`)
    """

    situation: Situation
    exchange_factor: float = 1.0

    @cached_property
    def top(self) -> Top:
        """The top as it is keyed, in display temperatures."""
        return find_top(self.situation.segments)

    @cached_property
    def display(self) -> TopHeatWork:
        """By the display and the glass's own viscosity: the terms of recorded heat works."""
        situation = self.situation
        return TopHeatWork(situation.segments, situation.response, situation.glass)

    @cached_property
    def felt(self) -> TopHeatWork:
        """The same firing as the glass feels it: every temperature higher by the offset."""
        situation, offset = self.situation, self.situation.offset
        if offset == 0 and self.exchange_factor == 1:
            return self.display
        response = replace(
            situation.response,
            full_power_limit=situation.response.full_power_limit + offset,
            ambient=situation.response.ambient + offset,
            slow_cooling_below=situation.response.slow_cooling_below + offset,
        )
        segments = [replace(s, target=s.target + offset) for s in situation.segments]
        glass = situation.glass
        if self.exchange_factor != 1:
            glass = with_steeper_viscosity(glass, self.exchange_factor, self.top.peak + offset)
        return TopHeatWork(segments, response, glass)

    @cached_property
    def own(self) -> float:
        """ln(heat work) of the schedule as it stands, in the glass."""
        return float(self.of_top(self.top.peak, self.top.hold))

    @cached_property
    def per_degree(self) -> float:
        """What 1 °C of peak is worth in ln(heat work) here."""
        return self.felt.per_degree(self.top.peak + self.situation.offset)

    @cached_property
    def per_second(self) -> float:
        """What 1 s of hold is worth in ln(heat work) here."""
        return self.felt.per_second(self.top.peak + self.situation.offset, self.top.hold)

    def of_top(self, peak: ArrayLike, hold: ArrayLike) -> Floats:
        """ln(heat work) in the glass for a keyed peak (°C) and hold (s)."""
        keyed = np.asarray(peak, dtype=np.float64)
        return self.felt.ln_heat_work(keyed + self.situation.offset, hold)

    def of_display(
        self, heat_work: ArrayLike, offset: ArrayLike, hold: ArrayLike | None = None
    ) -> Floats:
        """ln(heat work) in the glass for a heat work (1/Pa) by a display with this offset (°C).

        With the hold (s) that it came of, or else as if it came of the schedule's own.
        """
        ln_work = np.log(np.asarray(heat_work, dtype=np.float64))
        return self.felt.ln_heat_work(
            self.display.peak_for(ln_work, hold) + np.asarray(offset), hold
        )
