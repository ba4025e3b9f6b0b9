"""What the readings of a firing tell of its anneal: its soak, its cooling, the stress left."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from firings.charts import FiringChart
from firings.core_inputs import keyed_segments, load_of_piece
from firings.models import Firing, FiringState, LoadedPiece
from firings.recording_inputs import has_series
from firings.services.comparison import Comparison
from firings.services.followed import Followed, Unfollowed, follow
from firings.services.recording import Recording
from schedules.core_inputs import MM_PER_M, kiln_limits_of, load_for
from schedules.queries.glass_course import GlassCoursePage, stages_of
from schedules.services.anneal_plan import SOAK_PER_METRE
from schedules.services.annealing import stress_over
from schedules.services.annealing_rules import SHORTEST_SOAK, anneal_soaks, cools_after
from schedules.services.case import Case
from schedules.services.glass_course import glass_course
from schedules.services.heating_rules import LAID_IN_PARTS
from schedules.services.safe_cooling import stages_passed
from schedules.stress_charts import stress_drawings

BELOW_THE_SOAK = 5.0
"""°C below the soak from which a firing counts as cooling, where no segment was found."""
TOLD_APART = 60.0
"""s by which a soak differs before it counts as shorter."""


@dataclass(frozen=True)
class AnnealedFiring:
    """What is known of a firing's anneal.

    `piece` is the one that asks for the gentlest anneal, None where none has a thickness on record;
    `soak_recorded_s` is None where it was not found. `course` is None where the glass can't be
    followed at all, and `unfollowed` says why, or why not to the end; `begin_at` and `end_at` are
    its moments. `by_hand` says that there is nothing but readings noted by hand.
    """

    case: Case
    piece: LoadedPiece | None
    soak_planned_s: float
    soak_recorded_s: float | None
    course: GlassCoursePage | None
    unfollowed: Unfollowed | None
    starts_at: datetime | None
    by_hand: bool = False

    @property
    def thickness_mm(self) -> float:
        return self.case.thickness.by_factor * MM_PER_M

    @property
    def soak_usual_s(self) -> float:
        """What practice gives a piece of this thickness."""
        return SOAK_PER_METRE * self.case.thickness.by_factor / self.case.faces

    @property
    def is_soak_cut(self) -> bool:
        recorded = self.soak_recorded_s
        return recorded is not None and recorded < self.soak_planned_s - TOLD_APART

    @property
    def is_soak_short(self) -> bool:
        """Whether it was so short that a check would speak."""
        recorded = self.soak_recorded_s
        return recorded is not None and recorded < SHORTEST_SOAK * self.soak_usual_s

    @property
    def begin_at(self) -> datetime | None:
        return self._at(self.unfollowed.begin if self.unfollowed else None)

    @property
    def end_at(self) -> datetime | None:
        return self._at(self.unfollowed.end if self.unfollowed else None)

    def _at(self, seconds: float | None) -> datetime | None:
        if self.starts_at is None or seconds is None:
            return None
        return self.starts_at + timedelta(seconds=seconds)


def annealed_firing(
    firing: Firing,
    recording: Recording,
    comparison: Comparison,
    chart: FiringChart,
    starts_at: datetime | None,
) -> AnnealedFiring | None:
    """Of an opened firing with readings; None where nothing can be claimed. Asks no database.

    `starts_at` is the moment of the first reading, where it is known.
    """
    if firing.state != FiringState.OPENED or not recording.is_series:
        return None
    case, piece = gentlest_case(firing)
    if not case.is_glass or not case.segments:
        return None
    by_hand = not has_series(firing)
    followed = None if by_hand else follow(recording, case.load.glass, case.kiln.offset)
    return AnnealedFiring(
        case=case,
        piece=piece,
        soak_planned_s=soak_planned(case),
        soak_recorded_s=None if by_hand else soak_recorded(case, comparison),
        course=None
        if followed is None or not followed.times.size
        else _course(case, followed, comparison, chart, starts_at),
        unfollowed=None if followed is None else followed.unfollowed,
        starts_at=starts_at,
        by_hand=by_hand,
    )


def soak_planned(case: Case) -> float:
    """s that the anneal soak is to last."""
    return sum(case.segments[index].hold for index in anneal_soaks(case))


def soak_recorded(case: Case, comparison: Comparison) -> float | None:
    """s that it lasted; None where a part of it was not found, or none was planned."""
    held = [comparison.segments[index].hold_achieved for index in anneal_soaks(case)]
    found = [each for each in held if each is not None]
    return sum(found) if found and len(found) == len(held) else None


def gentlest_case(firing: Firing) -> tuple[Case, LoadedPiece | None]:
    """The piece of the load that asks for the gentlest anneal, or else what the schedule is for."""
    schedule = firing.revision.schedule
    segments = tuple(keyed_segments(firing))
    kiln = kiln_limits_of(firing.kiln, firing.room_temperature_c)
    cases = [
        (Case(segments, schedule.process, load_of_piece(loaded, schedule), kiln), loaded)
        for loaded in firing.load.all()
        if loaded.thickest_mm
    ]
    if not cases:
        return Case(segments, schedule.process, load_for(schedule), kiln), None
    return max(cases, key=lambda each: each[0].thickness.by_factor)


def _course(
    case: Case,
    followed: Followed,
    comparison: Comparison,
    chart: FiringChart,
    starts_at: datetime | None,
) -> GlassCoursePage:
    glass = case.load.glass
    stress = stress_over(
        followed.times, followed.temperatures, case.thickness.by_factor, glass, case.faces
    )
    times, faces = stress.stress.times, stress.faces
    stages = stages_of(case)
    soak_end = comparison.segments[cools_after(case)].end
    if soak_end is None:
        at_soak = np.flatnonzero(faces >= stages[0].start - BELOW_THE_SOAK)
        soak_end = float(times[at_soak[-1]]) if at_soak.size else float(times[0])
    since = followed.since
    if case.process in LAID_IN_PARTS:
        top_end = comparison.segments[case.top].end
        since = max(since, float(times[int(np.argmax(faces))]) if top_end is None else top_end)
    return GlassCoursePage(
        case=case,
        unit=chart.unit,
        course=glass_course(stress, glass, cools_from=soak_end, one_piece_from=since),
        stages=stages_passed(times, faces, stages, since=soak_end),
        drawings=stress_drawings(
            stress,
            soft_above=glass.annealing_point,
            unit=chart.unit,
            last=chart.last,
            later=chart.recorded_later,
            one_piece_from=since,
            starts_at=chart.starts_at,
        ),
        starts_at=starts_at,
        is_settled=followed.unfollowed is None,
        is_heating_known=followed.is_heating_known,
    )
