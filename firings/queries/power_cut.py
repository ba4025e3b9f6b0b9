"""A firing that lost its power: what is left of it, by the glass that lies in the kiln."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from firings.core_inputs import keyed_curve, keyed_segments, load_of_piece
from firings.models import EventKind, Firing, FiringEvent
from firings.services.power_cut import Recovery, after_power_cut
from firings.services.watching import Watch
from schedules.core_inputs import kiln_limits_of, load_for
from schedules.services.case import Case


@dataclass(frozen=True)
class PowerBack:
    """The latest power cut, what the display showed after it, and what is to do."""

    event: FiringEvent
    at: datetime
    temperature_c: float
    recovery: Recovery


def power_cut_of(firing: Firing) -> FiringEvent | None:
    """The latest power cut; the events come prefetched."""
    cuts = [each for each in firing.events.all() if each.kind == EventKind.POWER_CUT]
    return max(cuts, key=lambda each: each.happened_at, default=None)


def came_back_at(event: FiringEvent) -> datetime:
    return event.happened_at + timedelta(minutes=event.minutes or 0)


def recovery_of(
    firing: Firing, before: Watch, failed_s: float, temperature_c: float, without_s: float
) -> Recovery:
    """What is left to key.

    `before` is the firing as it was expected to go on when the power failed, `failed_s` s into it.
    Of the load the piece counts that is annealed as the thickest.
    """
    plan, schedule = keyed_curve(firing), firing.revision.schedule
    limits = kiln_limits_of(firing.kiln, firing.room_temperature_c)
    loads = [load_of_piece(loaded, schedule) for loaded in firing.load.all()]
    cases = [
        Case(tuple(keyed_segments(firing)), schedule.process, load, limits)
        for load in loads or [load_for(schedule)]
    ]
    thickest = max(cases, key=lambda case: case.thickness.by_factor)
    return after_power_cut(thickest, plan, failed_s - before.shift, temperature_c, without_s)
