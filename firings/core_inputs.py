"""Turns rows of firings into the core's dataclasses, so that no query builds its own.

Rows come in with what is needed of them prefetched (`firings.queries.tuning.firings_of_schedule`):
nothing here asks the database in a loop.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from math import hypot, nan
from typing import Any

from django.utils import timezone

from firings.models import (
    EventKind,
    FaultKind,
    Firing,
    FiringState,
    LoadedPiece,
)
from firings.models.record import KeyedPart
from firings.services.comparison import Comparison, compare
from firings.services.evidence import PastFiring, Situation, StepLimits, heat_work_uncertainty
from firings.services.pieces import JudgedPiece, combine_faults, combine_pieces
from firings.services.recording import Recording
from schedules.core_inputs import core_segments, glass_of, response_of, written_segments
from schedules.models import Revision
from schedules.services.curve import Curve, Segment, planned_curve
from schedules.services.writing import to_core
from studio.models import Kiln, Studio
from studio.models.kiln import ServiceKind
from studio.models.person import Role
from studio.services.glass import Glass
from studio.services.units import rate_to_celsius

FIELD_OF_PART: dict[str, str] = {
    KeyedPart.RATE: "rate",
    KeyedPart.TARGET: "target",
    KeyedPart.HOLD: "hold_minutes",
}
MOVES_TEMPERATURE = (ServiceKind.THERMOCOUPLE, ServiceKind.ELEMENTS)
SPOILS_EVIDENCE = (EventKind.STOPPED_EARLY, EventKind.POWER_CUT)

# A slight fault is noted and lived with; a crack never is.
COUNTS_FROM = 2
CRACKS = (
    FaultKind.CRACK_ROUNDED,
    FaultKind.CRACK_SHARP,
    FaultKind.CRACK_COLOUR,
    FaultKind.SPLIT,
)

THICKNESS_CLASSES_MM = (3.0, 6.0, 9.0, 12.0, 19.0, 25.0)


def keyed_segments(firing: Firing) -> list[Segment]:
    """What was keyed into the kiln, in °C/h, °C and seconds."""
    keyed = written_segments(firing.revision)
    for difference in firing.keyed_differences.all():
        if difference.position <= len(keyed):
            otherwise: dict[str, Any] = {FIELD_OF_PART[difference.part]: difference.value}
            index = difference.position - 1
            keyed[index] = replace(keyed[index], **otherwise)
    return to_core(keyed, firing.revision.unit)


def keyed_curve(firing: Firing) -> Curve:
    """What the kiln was to do: as keyed, from the room's temperature on that day."""
    return planned_curve(
        keyed_segments(firing), response_of(firing.kiln, firing.room_temperature_c)
    )


def recording_of(firing: Firing) -> Recording:
    """What was noted of the firing's course; of each number, None where it was not."""
    hold, duration = firing.recorded_hold_s, firing.recorded_duration_s
    return Recording(
        started_at=firing.started_at,
        peak=firing.recorded_peak_c,
        duration=None if duration is None else float(duration),
        hold=None if hold is None else float(hold),
    )


def schedule_glass(revision: Revision) -> Glass:
    """The glass in which all firings of a schedule are compared: its family's."""
    return glass_of(None, revision.schedule.family)


def past_firings(firings: Iterable[Firing], glass: Glass) -> list[PastFiring]:
    """The evidence among firings of one schedule, their pieces combined by the core's rule.

    Left out: what is not opened, was stopped early or lost its power, and what the kiln's record
    as it stands could not have reached. A firing that nobody judged stays without a verdict.
    """
    past = [past_firing(firing, glass) for firing in firings]
    return [one for one in past if one is not None]


def past_firing(firing: Firing, glass: Glass) -> PastFiring | None:
    events = {event.kind for event in firing.events.all()}
    if firing.state != FiringState.OPENED or events.intersection(SPOILS_EVIDENCE):
        return None
    curve = keyed_curve(firing)
    if curve.unreached is not None:
        return None
    pieces = [judged_piece(loaded) for loaded in firing.load.all()]
    combined = combine_pieces(pieces)
    comparison = compare(curve, recording_of(firing), glass)
    return PastFiring(
        firing.kiln_id,
        _heat_work(firing, curve.heat_work(glass), comparison),
        hypot(_recorded_uncertainty(firing, events), combined.uncertainty if combined else 0.0),
        combined.verdict if combined else None,
        faults=combined.faults if combined else combine_faults(pieces),
        firing=firing.pk,
        fired_on=firing.started_at,
        place=combined.place if combined else None,
        thickness_class=combined.thickness_class if combined else None,
        service_epoch=service_epoch(firing.kiln, timezone.localdate(firing.started_at)),
        missed_plan=comparison.missed_plan,
        also_changed=tuple(firing.also_changed),
    )


def _heat_work(firing: Firing, planned: float, comparison: Comparison) -> float:
    """As planned where no peak was noted; NaN where the noted one can’t be of this plan."""
    if comparison.heat_work_ratio is not None:
        return planned * comparison.heat_work_ratio
    return planned if firing.recorded_peak_c is None else nan


def _recorded_uncertainty(firing: Firing, events: set[str]) -> float:
    """By what was recorded; a hold cut short by hand is only known where somebody noted it."""
    hold, duration = firing.recorded_hold_s, firing.recorded_duration_s
    if firing.recorded_peak_c is None or (hold is None and EventKind.WENT_ON_EARLY in events):
        return heat_work_uncertainty("plan_only")
    known = hold is not None or duration is not None
    return heat_work_uncertainty("peak_and_duration" if known else "plan_only")


def judged_piece(loaded: LoadedPiece) -> JudgedPiece:
    judge, place = loaded.judged_by, loaded.place
    return JudgedPiece(
        verdict=loaded.verdict,
        served=loaded.is_served,
        by_instructor=judge is not None
        and judge.role in (Role.INSTRUCTOR, Role.KEEPER)
        and judge.pk != loaded.piece.maker_id,
        at_reference_place=place is not None and place.is_reference,
        faults=tuple(
            fault.kind
            for fault in loaded.faults.all()
            if fault.severity >= COUNTS_FROM or fault.kind in CRACKS
        ),
        place=loaded.place_id,
        thickness_class=thickness_class(loaded.thickest_mm),
    )


def thickness_class(thickest_mm: float | None) -> float | None:
    """The nearest of the thicknesses that annealing tables name, mm."""
    if thickest_mm is None:
        return None
    return min(THICKNESS_CLASSES_MM, key=lambda named: abs(named - thickest_mm))


def service_epoch(kiln: Kiln, day: date) -> int:
    """How many services up to that day may have moved the kiln's temperature.

    A firing that starts on the day of a service counts as fired after it.
    """
    days = sorted(
        entry.done_on for entry in kiln.service_entries.all() if entry.kind in MOVES_TEMPERATURE
    )
    return bisect_right(days, day)


def situation_of(revision: Revision, kiln: Kiln, others: Sequence[Kiln] = ()) -> Situation:
    """The revision in the kiln where it will be fired next.

    `others` are the kilns of the past firings; an offset counts as known where it was measured.
    """
    return Situation(
        core_segments(revision),
        response_of(kiln),
        schedule_glass(revision),
        kiln.pk,
        process=revision.schedule.process,
        offset=kiln.offset_c,
        repeatability=kiln.repeatability_c,
        offsets={
            other.pk: other.offset_c
            for other in others
            if other.pk != kiln.pk and (other.offset_measured_on or other.offset_c)
        },
        service_epoch=service_epoch(kiln, timezone.localdate()),
    )


def step_limits(studio: Studio, kiln: Kiln, unit: str) -> StepLimits:
    """How far a note may go, in steps that this controller and a revision in `unit` can take.

    A controller that reads the other unit takes whole degrees of the revision's, and its own step
    where that is coarser.
    """
    step_c = float(rate_to_celsius(float(kiln.controller_step), kiln.controller_unit))
    if unit != kiln.controller_unit:
        degree_c = float(rate_to_celsius(1.0, unit))
        step_c = degree_c * max(1, round(step_c / degree_c))
    return StepLimits(
        peak=studio.largest_peak_step_c,
        hold=studio.largest_hold_step_minutes * 60.0,
        peak_resolution=step_c,
        hold_resolution=60.0,
        max_temperature=kiln.max_temperature_c,
    )
