"""Turns rows into the core's dataclasses, so that no query builds its own."""

from dataclasses import replace
from decimal import Decimal
from typing import cast

import numpy as np

from schedules.models import Revision, Schedule, SilencedRemark
from schedules.services.case import COOLED
from schedules.services.checks import KilnLimits, Load, Severity
from schedules.services.curve import Curve, Segment, planned_curve
from schedules.services.keying import FIELD_ORDERS, Controller
from schedules.services.silencing import Silenced
from schedules.services.writing import SECONDS_PER_MINUTE, WrittenSegment, to_core
from studio.core_inputs import estimated_glass_of
from studio.models import GlassFamily, GlassKind, Kiln, LearntResponse, RampEntry
from studio.services.kiln_response import SECONDS_PER_HOUR, KilnResponse
from studio.services.response_parameters import heating_time_constant
from studio.services.units import rate_to_celsius

MM_PER_M = 1000.0
ROOM_C = 20.0
OPENING_C = COOLED  # cool enough to open and to lift pieces out


def response_of(kiln: Kiln, room_c: float | None = None) -> KilnResponse:
    """The kiln's response, in display temperatures: as learnt from its recordings where plans use
    that, or else as keyed.

    Where many kilns or firings are looked at, select the kiln's `learnt_response` with them.
    """
    learnt = learnt_response_of(kiln)
    if learnt is not None and learnt.is_used:
        return learnt_core_response(learnt, room_c)
    return keyed_response_of(kiln, room_c)


def keyed_response_of(kiln: Kiln, room_c: float | None = None) -> KilnResponse:
    """The kiln's response by the figures that somebody keyed."""
    return _response(kiln, room_c)


def learnt_response_of(kiln: Kiln) -> LearntResponse | None:
    """The row of what the kiln's recordings taught, whether plans use it or not."""
    return cast(LearntResponse | None, getattr(kiln, "learnt_response", None))


def learnt_core_response(row: LearntResponse, room_c: float | None = None) -> KilnResponse:
    """What the recordings taught, with its covariance."""
    covariance = np.array(row.covariance, dtype=np.float64)
    return replace(_response(row, room_c), covariance=covariance)


def _response(row: Kiln | LearntResponse, room_c: float | None) -> KilnResponse:
    slow_h = row.slow_cooling_constant_h
    return KilnResponse(
        full_power_limit=row.full_power_limit_c,
        heating_time_constant=heating_time_constant(
            row.rise_at_700_c_per_h, row.full_power_limit_c
        ),
        cooling_time_constant=row.cooling_constant_h * SECONDS_PER_HOUR,
        ambient=ROOM_C if room_c is None else room_c,
        slow_cooling_time_constant=None if slow_h is None else slow_h * SECONDS_PER_HOUR,
    )


def core_segments(revision: Revision) -> list[Segment]:
    """A revision's segments in °C/h, °C and seconds."""
    return to_core(written_segments(revision), revision.unit)


def curve_of(revision: Revision, kiln: Kiln, room_c: float | None = None) -> Curve:
    return planned_curve(core_segments(revision), response_of(kiln, room_c))


def written_segments(revision: Revision) -> list[WrittenSegment]:
    """A revision's segments as they were written, in its own unit."""
    return [
        WrittenSegment(row.rate, row.target, Decimal(row.hold_minutes))
        for row in revision.segments.all()
    ]


def kiln_limits_of(kiln: Kiln, room_c: float | None = None) -> KilnLimits:
    return KilnLimits(
        max_temperature=kiln.max_temperature_c,
        segments=kiln.controller_segments,
        resolution=float(rate_to_celsius(float(kiln.controller_step), kiln.controller_unit)),
        chamber=(
            kiln.chamber_width_mm / MM_PER_M,
            kiln.chamber_depth_mm / MM_PER_M,
            kiln.chamber_height_mm / MM_PER_M,
        ),
        response=response_of(kiln, room_c),
        offset=kiln.known_offset_c,
        unit=kiln.controller_unit,
        longest_hold=None
        if kiln.longest_hold_minutes is None
        else kiln.longest_hold_minutes * SECONDS_PER_MINUTE,
    )


def controller_of(kiln: Kiln) -> Controller:
    """How the kiln's controller is keyed."""
    return Controller(
        segments=kiln.controller_segments,
        unit=kiln.controller_unit,
        step=kiln.controller_step,
        takes_times=kiln.ramp_entry == RampEntry.TIME,
        order=FIELD_ORDERS[kiln.field_order],
        hold_format=kiln.hold_format,
        longest=kiln.longest_hold_minutes,
        full_power=kiln.full_power_entry,
    )


def load_for(schedule: Schedule) -> Load:
    """The load that a schedule is written for: its family's glass in its range of thickness."""
    estimate = estimated_glass_of(None, schedule.family)
    return Load(
        glass=estimate.glass,
        estimate=estimate,
        family="" if schedule.family is None else schedule.family.name,
        thickest=schedule.thickest_mm / MM_PER_M,
        thinnest=schedule.thinnest_mm / MM_PER_M,
        anneal_soak=None if schedule.family is None else schedule.family.anneal_soak_c,
        width=0.0,  # a schedule is written for a thickness, not for a size
        length=0.0,
    )


def silenced_of(row: SilencedRemark) -> Silenced:
    """A remark as it was when somebody silenced it."""
    return Silenced(
        code=row.code,
        severity=cast(Severity, row.severity),
        segment=None if row.position is None else row.position - 1,
        figure=row.figure,
        limit=row.limit,
    )


def load_to_draft(
    *,
    family: GlassFamily | None,
    kind: GlassKind | None,
    thickest_mm: float,
    thinnest_mm: float,
    layers: int,
    width_mm: float | None,
    length_mm: float | None,
) -> Load:
    """The load that a schedule is drafted for; a size that isn't known is 0."""
    estimate = estimated_glass_of(kind, family)
    return Load(
        glass=estimate.glass,
        estimate=estimate,
        family="" if family is None else family.name,
        thickest=thickest_mm / MM_PER_M,
        thinnest=thinnest_mm / MM_PER_M,
        layers=layers,
        width=(width_mm or 0.0) / MM_PER_M,
        length=(length_mm or 0.0) / MM_PER_M,
        anneal_soak=None if family is None else family.anneal_soak_c,
    )
