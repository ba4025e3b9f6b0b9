"""Turns rows of firings into what the advice is drawn from, so that no query builds its own.

Rows come in with what is needed of them prefetched (`firings.queries.tuning.firings_of_schedule`):
nothing here asks the database in a loop.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import hypot, nan

from django.utils import timezone

from firings.core_inputs import comparable, keyed_segments, recording_of, schedule_glass
from firings.models import (
    EventKind,
    FaultKind,
    Firing,
    FiringState,
    LoadedPiece,
)
from firings.recording_inputs import (
    glass_fingerprint,
    series_of,
    summary_of,
)
from firings.services.comparison import Comparison, compare
from firings.services.evidence import (
    PastFiring,
    Situation,
    StepLimits,
    beside_the_plan,
    brought_in_uncertainty,
    heat_work_uncertainty,
)
from firings.services.noted_top import NotedTop, kept_curve, kept_heat_work
from firings.services.pieces import JudgedPiece, combine_faults, combine_pieces
from firings.services.recording import Recording
from firings.services.top import find_top
from schedules.core_inputs import (
    core_segments,
    response_of,
)
from schedules.models import Revision
from schedules.services.curve import Curve
from studio.models import Kiln, Studio
from studio.models.kiln import ServiceKind
from studio.models.person import Role
from studio.services.glass import Glass
from studio.services.units import rate_to_celsius

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

# Remarks of a comparison whose heat work is that of peak and hold, not of the readings.
BY_THE_TOP = {"readings_with_gaps", "readings_miss_the_top", "readings_too_far_apart"}

THICKNESS_CLASSES_MM = (3.0, 6.0, 9.0, 12.0, 19.0, 25.0)


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
    response = response_of(firing.kiln, firing.room_temperature_c)
    curve = kept_curve(tuple(keyed_segments(firing)), response)
    if curve.unreached is not None:
        return None
    pieces = [judged_piece(loaded) for loaded in firing.load.all()]
    combined = combine_pieces(pieces)
    known = _known_heat_work(firing, curve, glass, events)
    return PastFiring(
        firing.kiln_id,
        known.heat_work,
        hypot(known.uncertainty, combined.uncertainty if combined else 0.0),
        combined.verdict if combined else None,
        faults=combined.faults if combined else combine_faults(pieces),
        firing=firing.pk,
        fired_on=firing.started_at,
        place=combined.place if combined else None,
        thickness_class=combined.thickness_class if combined else None,
        service_epoch=service_epoch(firing.kiln, timezone.localdate(firing.started_at)),
        missed_plan=known.missed_plan,
        also_changed=tuple(firing.also_changed),
        hold=known.hold,
        mass_ratio=combined.mass_ratio if combined else None,
        sitting=combined.sitting if combined else None,
    )


@dataclass(frozen=True)
class _KnownHeatWork:
    """1/Pa, the standard deviation of its logarithm, whether the plan was missed, and the hold (s).

    The hold is that at the top, None where nobody knows.
    """

    heat_work: float
    uncertainty: float
    missed_plan: bool
    hold: float | None


def _known_heat_work(
    firing: Firing, curve: Curve, glass: Glass, events: set[str]
) -> _KnownHeatWork:
    """By the readings where they resolve the top, or else by what was noted of it."""
    series, read = series_of(firing), None
    compared: Comparison | NotedTop
    if series is not None:
        recording = summary_of(firing)
        read = series.heat_work if series.glass == glass_fingerprint(glass) else None
    else:
        recording = comparable(firing, curve, recording_of(firing))
    if recording.is_series:
        compared = compare(curve, recording, glass)
        read = read_heat_work(curve, recording, compared, glass)
    else:
        compared = NotedTop(curve, recording.highest, recording.hold, glass)
    hold, missed = _known_hold(recording, curve, compared), compared.missed_plan
    if read is not None:
        return _KnownHeatWork(read, heat_work_uncertainty("full_recording"), missed, hold)
    planned = kept_heat_work(curve.segments, curve.response, curve.start, glass)
    noted = _noted_heat_work(recording, planned, compared)
    kind = _recorded_kind(recording, events)
    uncertainty = heat_work_uncertainty(kind)
    if firing.is_brought_in:
        # Nobody knows that it was keyed so: the sheet is not weighed together with the plan.
        uncertainty = brought_in_uncertainty(uncertainty)
    elif kind == "peak_and_duration" and not missed and noted > 0:
        noted, uncertainty = beside_the_plan(noted, planned)
    return _KnownHeatWork(noted, uncertainty, missed, None if kind == "plan_only" else hold)


def _known_hold(
    recording: Recording, curve: Curve, compared: Comparison | NotedTop
) -> float | None:
    """At the top, s: as read or noted, or else as keyed where the plan was not missed."""
    if recording.hold is not None:
        return recording.hold
    top = find_top(curve.segments)
    found = compared.segments if isinstance(compared, Comparison) else ()
    held = [one.hold_achieved for one in found if one.index == top.index]
    if held and held[0] is not None:
        return held[0]
    return None if compared.missed_plan else top.hold


def read_heat_work(
    curve: Curve, recording: Recording, comparison: Comparison, glass: Glass
) -> float | None:
    """1/Pa that the readings tell by themselves; None where they do not resolve the top."""
    codes = {remark.code for remark in comparison.remarks}
    if not recording.is_series or comparison.heat_work_ratio is None or codes & BY_THE_TOP:
        return None
    return curve.heat_work(glass) * comparison.heat_work_ratio


def _noted_heat_work(
    recording: Recording, planned: float, compared: Comparison | NotedTop
) -> float:
    """As planned where no peak is known; NaN where the known one can’t be of this plan."""
    ratio = compared.heat_work_ratio
    if ratio is not None:
        return planned * ratio
    return planned if recording.highest is None else nan


def _recorded_kind(recording: Recording, events: set[str]) -> str:
    """By what was recorded; a hold cut short by hand is only known where somebody noted it."""
    cut_short = recording.hold is None and EventKind.WENT_ON_EARLY in events
    known = recording.hold is not None or recording.duration is not None
    if recording.highest is None or cut_short or not known:
        return "plan_only"
    return "peak_and_duration"


def judged_piece(loaded: LoadedPiece) -> JudgedPiece:
    judge, place = loaded.judged_by, loaded.place
    return JudgedPiece(
        verdict=loaded.counted_verdict,
        served=loaded.is_served,
        by_instructor=loaded.reviewed_verdict is not None
        or (
            judge is not None
            and judge.role in (Role.INSTRUCTOR, Role.KEEPER)
            and judge.pk != loaded.piece.maker_id
        ),
        at_reference_place=place is not None and place.is_reference,
        faults=tuple(
            fault.kind
            for fault in loaded.faults.all()
            if fault.severity >= COUNTS_FROM or fault.kind in CRACKS
        ),
        place=loaded.place_id,
        thickness_class=thickness_class(loaded.thickest_mm),
        mass=mass_kg(loaded),
        sitting=sitting_of(loaded),
    )


def sitting_of(loaded: LoadedPiece) -> tuple[int, int, date] | None:
    """Of a tile of a test series: the series, and who judged it on which day; comes with
    `select_related("review", "rung")`. None for any other piece, and where nobody knows."""
    rung = getattr(loaded, "rung", None)
    if rung is None:
        return None
    judge, moment = loaded.judged_by_id, loaded.judged_at
    if loaded.reviewed_verdict is not None:
        judge, moment = loaded.review.reviewed_by_id, loaded.review.reviewed_at
    if judge is None or moment is None:
        return None
    return rung.ladder_id, judge, timezone.localdate(moment)


def mass_kg(loaded: LoadedPiece) -> float | None:
    """Of a piece by its size, taken as a full slab of soda-lime glass; None where it has none."""
    length, width, thickest = loaded.length_mm, loaded.width_mm, loaded.thickest_mm
    if length is None or width is None or thickest is None:
        return None
    thinnest = thickest if loaded.thinnest_mm is None else loaded.thinnest_mm
    return length * width * (thickest + thinnest) / 2 * 1e-9 * Glass().density


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


def situation_of(
    revision: Revision,
    kiln: Kiln,
    others: Sequence[Kiln] = (),
    *,
    firings: Sequence[Firing] = (),
) -> Situation:
    """The revision in the kiln where it will be fired next.

    `others` are the kilns of the past firings; an offset counts as known where it was measured with
    the thermocouple that is in the kiln now.
    Of past `firings` themselves, first to last, come the place and the thickness that it is tuned
    by: the kiln's reference place, and what the schedule served last; tiles of a test series stand
    for a piece only where none was served.
    """
    loads = [loaded for firing in firings for loaded in firing.load.all()]
    reference = [
        loaded.place_id
        for loaded in loads
        if loaded.place is not None
        and loaded.place.is_reference
        and loaded.place.kiln_id == kiln.pk
    ]
    served = [loaded for loaded in loads if loaded.is_served]
    pieces = [loaded for loaded in served if getattr(loaded, "rung", None) is None] or served
    known = [thickness_class(each.thickest_mm) for each in pieces if each.thickest_mm is not None]
    return Situation(
        core_segments(revision),
        response_of(kiln),
        schedule_glass(revision),
        kiln.pk,
        process=revision.schedule.process,
        offset=kiln.known_offset_c,
        repeatability=kiln.repeatability_c,
        offsets={
            other.pk: other.offset_c
            for other in others
            if other.pk != kiln.pk
            and (other.offset_measured_on or other.offset_c)
            and other.offset_void_since is None
        },
        service_epoch=service_epoch(kiln, timezone.localdate()),
        place=reference[0] if reference else None,
        thickness_class=known[-1] if known else None,
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
