"""Turns rows of firings into the core's dataclasses, so that no query builds its own.

Rows come in with what is needed of them prefetched (`firings.queries.tuning.firings_of_schedule`):
nothing here asks the database in a loop.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
from django.db.models import Q

from firings.models import (
    EventKind,
    Firing,
    LoadedPiece,
)
from firings.models.record import KeyedPart
from firings.recording_inputs import (
    noted_recording,
    series_of,
    series_recording,
    spot_recording,
)
from firings.services.comparison import Comparison, compare
from firings.services.recording import Recording
from firings.services.walls import Walls
from schedules.core_inputs import (
    MM_PER_M,
    OPENING_C,
    core_segments,
    keyed_response_of,
    kiln_limits_of,
    learnt_response_of,
    load_for,
    response_of,
    written_segments,
)
from schedules.models import Revision, Schedule
from schedules.services.checks import Load, Remark, check_piece
from schedules.services.curve import Curve, Segment, planned_curve
from schedules.services.writing import to_core
from studio.core_inputs import chemistry_of, estimated_glass_of, glass_of
from studio.days import midnight
from studio.models import GlassKind, GlassLook, Kiln
from studio.models.kiln import ServiceKind
from studio.services.glass import Glass

FIELD_OF_PART: dict[str, str] = {
    KeyedPart.RATE: "rate",
    KeyedPart.TARGET: "target",
    KeyedPart.HOLD: "hold_minutes",
}
RENEWS_HEATING = (ServiceKind.ELEMENTS, ServiceKind.RELAY)

FAR_APART_S = 900.0  # between readings by hand, beyond which they show no segment
ABOUT_THE_TOP = 15.0  # °C from the planned peak within which a reading by hand is one of the top


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


def curve_as_on_record(firing: Firing) -> Curve:
    """The same by the kiln's keyed figures alone: what is learnt begins with them, each time."""
    return planned_curve(
        keyed_segments(firing), keyed_response_of(firing.kiln, firing.room_temperature_c)
    )


def recording_of(firing: Firing) -> Recording:
    """What is known of the firing's course, the best first: a series of readings, readings noted
    by hand together with peak, hold and duration as noted, or these alone.
    """
    series = series_of(firing)
    if series is not None:
        return series_recording(firing, series)
    spots, noted = spot_recording(firing), noted_recording(firing)
    if not spots.is_series:
        return noted
    return replace(noted, times=spots.times, temperatures=spots.temperatures)


def schedule_glass(revision: Revision) -> Glass:
    """The glass in which all firings of a schedule are compared: its family's."""
    return glass_of(None, revision.schedule.family)


def comparison_of(firing: Firing, curve: Curve, recording: Recording) -> Comparison:
    """A firing's recording held against its plan, in the schedule's glass."""
    return compare(
        curve,
        comparable(firing, curve, recording),
        schedule_glass(firing.revision),
        repeatability=firing.kiln.repeatability_c,
        process=firing.revision.schedule.process,
        stopped_at=stopped_at(firing, recording),
    )


def stopped_at(firing: Firing, recording: Recording) -> float | None:
    """s of the recording at which the firing was noted as stopped early; None where it was not."""
    begin = recording.started_at or firing.started_at
    stops = [
        event.happened_at for event in firing.events.all() if event.kind == EventKind.STOPPED_EARLY
    ]
    if begin is None or not stops:
        return None
    return (min(stops) - begin).total_seconds()


def shows_segments(recording: Recording) -> bool:
    """Whether readings noted by hand are enough, and near enough to each other."""
    times = recording.times
    return times.size > 2 and float(np.median(np.diff(times))) <= FAR_APART_S


def comparable(firing: Firing, curve: Curve, recording: Recording) -> Recording:
    """The recording as far as it can be held against a plan.

    Readings by hand that lie far apart tell no segment: of them counts only what was seen about
    the planned top, as the peak.
    """
    if series_of(firing) is not None or not recording.is_series:
        return recording
    if shows_segments(recording):
        return recording
    noted, seen = noted_recording(firing), float(recording.temperatures.max())
    if noted.peak is None and abs(seen - curve.peak) <= ABOUT_THE_TOP:
        return replace(noted, peak=seen)
    return noted


def glasses_of(loaded: LoadedPiece) -> list[GlassKind]:
    """All kinds of glass in a piece, its main one first; its `other_glasses` come prefetched."""
    return [*([] if loaded.glass is None else [loaded.glass]), *loaded.other_glasses.all()]


def load_of_piece(loaded: LoadedPiece, schedule: Schedule) -> Load:
    """One piece as it lies in the kiln; what isn't said of it is as its schedule is written for."""
    return load_of(
        load_for(schedule),
        glasses_of(loaded),
        thickest_mm=loaded.thickest_mm,
        thinnest_mm=loaded.thinnest_mm,
        layers=loaded.layers,
        width_mm=loaded.width_mm,
        length_mm=loaded.length_mm,
        mould=loaded.mould,
        is_fit_test=loaded.is_fit_test,
    )


def load_of(
    usual: Load | None,
    kinds: Sequence[GlassKind],
    *,
    thickest_mm: float | None,
    thinnest_mm: float | None,
    layers: int,
    width_mm: float | None,
    length_mm: float | None,
    mould: str = "",
    is_fit_test: bool = False,
) -> Load:
    """A piece of these glasses, its main one first; what isn't said is as in the `usual` load."""
    usual = usual or Load()
    main = kinds[0] if kinds else None
    estimate = usual.estimate if main is None else estimated_glass_of(main)
    thickest = usual.thickest if thickest_mm is None else thickest_mm / MM_PER_M
    return Load(
        glass=usual.glass if estimate is None else estimate.glass,
        estimate=estimate,
        family=usual.family if main is None else main.family.name,
        families=tuple(dict.fromkeys(kind.family.name for kind in kinds)),
        chemistries=tuple(chemistry_of(kind) for kind in kinds),
        strikers=sum(kind.look == GlassLook.STRIKER for kind in kinds),
        is_fit_test=is_fit_test,
        mould=mould,
        anneal_soak=usual.anneal_soak if main is None else main.family.anneal_soak_c,
        thickest=thickest,
        thinnest=thickest if thinnest_mm is None else thinnest_mm / MM_PER_M,
        layers=layers,
        width=(width_mm or 0.0) / MM_PER_M,
        length=(length_mm or 0.0) / MM_PER_M,
    )


def check_of_piece(loaded: LoadedPiece, firing: Firing) -> list[Remark]:
    """What speaks against a piece in its kiln, opened where it was, or else where practice does."""
    schedule, opened = firing.revision.schedule, firing.opened_temperature_c
    return check_piece(
        core_segments(firing.revision),
        schedule.process,
        load_of_piece(loaded, schedule),
        kiln_limits_of(firing.kiln, firing.room_temperature_c),
        opening=OPENING_C if opened is None else opened,
    )


def heating_service_day(kiln: Kiln) -> date | None:
    """The last day on which elements or a relay were renewed, or None."""
    days = [entry.done_on for entry in kiln.service_entries.all() if entry.kind in RENEWS_HEATING]
    return max(days, default=None)


def started_since(day: date | None) -> Q:
    """Firings from that day on in the studio's zone; all of them for None."""
    if day is None:
        return Q()
    return Q(started_at__gte=midnight(day))


def walls_of(kiln: Kiln) -> Walls | None:
    """As the kiln's recordings taught them; None where they did not, or plans don't use that."""
    learnt = learnt_response_of(kiln)
    if learnt is None or not learnt.is_used or not learnt.walls:
        return None
    return Walls(**learnt.walls)
