"""One of several firings that lie side by side: its course, its figures, its photographs."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from firings.aligned_charts import Course, is_thin
from firings.core_inputs import comparison_of, keyed_curve, recording_of, schedule_glass
from firings.models import Firing, LoadedPiece, Moment, Photograph
from firings.queries.annealed import gentlest_case, soak_planned, soak_recorded
from firings.queries.visible import is_kept_from
from firings.recording_inputs import has_series, spot_recording
from firings.services.comparison import Comparison
from firings.services.recording import Recording
from firings.services.top import Top, find_top
from schedules.charts import Line, planned_line
from schedules.core_inputs import OPENING_C
from schedules.services.case import Case
from schedules.services.curve import Curve
from studio.models import Person


@dataclass(frozen=True)
class Side:
    """One of the firings: what was planned of it, what was recorded, what came of it."""

    number: int
    firing: Firing
    curve: Curve
    recording: Recording
    comparison: Comparison
    is_kept: bool = False

    @property
    def title(self) -> str:
        if self.firing.title or self.shown is None:
            return self.firing.title or f"Firing {self.firing.pk}"
        return self.shown.piece.title

    @property
    def top(self) -> Top:
        return find_top(self.curve.segments)

    @cached_property
    def case(self) -> Case:
        return gentlest_case(self.firing)[0]

    @property
    def is_thin(self) -> bool:
        return is_thin(self.number)

    @property
    def is_recorded(self) -> bool:
        """Whether there is a series of readings to draw."""
        return has_series(self.firing)

    @cached_property
    def pieces(self) -> tuple[LoadedPiece, ...]:
        """The piece that the schedule serves first."""
        return tuple(self.firing.load.all())

    @property
    def shown(self) -> LoadedPiece | None:
        return self.pieces[0] if self.pieces else None

    @property
    def is_judged(self) -> bool:
        return self.shown is not None and self.shown.verdict is not None

    @cached_property
    def photographs(self) -> tuple[Photograph, ...]:
        """The one that shows best how the piece came out first."""
        shown = self.shown
        return tuple(
            sorted(
                self.firing.photographs.all(),
                key=lambda each: (
                    each.moment != Moment.AFTER,
                    shown is None or each.loaded_piece_id != shown.pk,
                ),
            )
        )

    @property
    def photograph(self) -> Photograph | None:
        return self.photographs[0] if self.photographs else None

    @property
    def more_photographs(self) -> int:
        return max(len(self.photographs) - 1, 0)

    @property
    def peak(self) -> float | None:
        return _sum(self.curve.peak, self.comparison.peak_difference)

    @property
    def hold(self) -> float | None:
        return _sum(self.top.hold, self.comparison.hold_difference)

    @property
    def duration(self) -> float | None:
        found = _sum(self.curve.duration, self.comparison.duration_difference)
        return self.recording.duration if found is None else found

    @property
    def is_glass(self) -> bool:
        return self.case.is_glass

    @property
    def soak_planned(self) -> float:
        return soak_planned(self.case)

    @property
    def soak(self) -> float | None:
        """s that the anneal soak lasted; readings noted by hand don't tell it."""
        return soak_recorded(self.case, self.comparison) if self.is_recorded else None

    @cached_property
    def heat_work(self) -> float | None:
        """1/Pa by the display, in the glass of its schedule; None where it was not recorded."""
        ratio = self.comparison.heat_work_ratio
        if ratio is None or not self.is_glass:
            return None
        return self.curve.heat_work(schedule_glass(self.firing.revision)) * ratio

    @property
    def highest(self) -> float:
        """°C of the line that is drawn of it."""
        return float(np.nanmax(self._line.temperatures))

    @cached_property
    def _line(self) -> Line:
        if self.is_recorded:
            return Line(*self.recording.broken_at_gaps())
        return planned_line(self.curve, cooled_to=OPENING_C)

    def course(self, aligned: str) -> Course:
        """As it is drawn, from its start or from when its top was reached."""
        line, hand = self._line, None if self.is_recorded else spot_recording(self.firing)
        at = self._top_reached() if aligned == "top" else self._begun()
        return Course(
            self.number,
            Line(line.times - at, line.temperatures),
            self.is_recorded,
            Line(hand.times - at, hand.temperatures) if hand is not None else None,
        )

    def _begun(self) -> float:
        """s of its line at which its first ramp begins."""
        if not (self.is_recorded and self.comparison.segments):
            return 0.0
        return self.comparison.segments[0].start or 0.0

    def _top_reached(self) -> float:
        """s of its line at which the top is met, or else at which it is hottest."""
        line, index = self._line, self.top.index
        met = None
        if self.is_recorded:
            met = self.comparison.segments[index].hold_start
        elif index < len(self.curve.spans):
            met = self.curve.spans[index].hold_start
        return float(line.times[np.nanargmax(line.temperatures)]) if met is None else met


def _sum(planned: float | None, difference: float | None) -> float | None:
    return None if planned is None or difference is None else planned + difference


def side_of(number: int, firing: Firing, reader: Person | None = None) -> Side:
    """Of a firing of `firings_for_page` with its readings; asks the database nothing."""
    curve, recording = keyed_curve(firing), recording_of(firing)
    comparison = comparison_of(firing, curve, recording)
    return Side(number, firing, curve, recording, comparison, is_kept_from(reader, firing))
