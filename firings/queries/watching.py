"""What is known of a firing that runs: its readings so far, and what is expected of it now."""

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any

from django.db.models import Count, Max, OuterRef, QuerySet, Subquery
from django.utils import timezone

from firings.core_inputs import keyed_curve
from firings.models import (
    EventKind,
    Firing,
    FiringEvent,
    FiringState,
    KeyedDifference,
    LoggedReading,
    LoggerToken,
    RunawayAlarm,
    SpotReading,
)
from firings.queries.logged_readings import logged_so_far
from firings.queries.power_cut import PowerBack, came_back_at, power_cut_of, recovery_of
from firings.services.plan_place import Noted, PlanStage
from firings.services.standing import Standing
from firings.services.watching import DueMoment, Watch, watch, watch_from
from schedules.core_inputs import OPENING_C, response_of
from schedules.queries.opening import Opening
from schedules.services.curve import planned_curve
from schedules.services.writing import SECONDS_PER_MINUTE
from studio.models import Person

LATEST = 3
"""Readings that the page shows."""


@dataclass(frozen=True, slots=True)
class ReadingSoFar:
    """What a display showed of a running firing; `spot` where a person noted it."""

    at: datetime
    temperature_c: float
    spot: SpotReading | None = None


@dataclass(frozen=True)
class CourseRow:
    """A stage of the plan with its times on the clock, moved by what was read."""

    stage: PlanStage
    rate_c_per_h: float | None
    target_c: float | None
    begins_at: datetime
    ends_at: datetime | None
    is_now: bool


@dataclass(frozen=True)
class FiringNow:
    """A running firing at a moment. Its watch is the core's; all else is for the page."""

    firing: Firing
    watch: Watch
    now: datetime
    readings: list[ReadingSoFar]

    @property
    def elapsed_s(self) -> float:
        return (self.now - _start(self.firing)).total_seconds()

    @property
    def expected_c(self) -> float | None:
        return self.watch.expected(self.elapsed_s)

    @cached_property
    def rows(self) -> list[CourseRow]:
        present = self.watch.stage(self.elapsed_s)
        return [self._row(stage, stage == present) for stage in self.watch.stages()]

    @property
    def present(self) -> CourseRow | None:
        return next((row for row in self.rows if row.is_now), None)

    @property
    def left_s(self) -> float | None:
        """Until the present stage ends."""
        row = self.present
        if row is None or row.ends_at is None:
            return None
        return (row.ends_at - self.now).total_seconds()

    @property
    def next_due(self) -> DueMoment | None:
        return self.watch.next_due(self.elapsed_s)

    @property
    def next_due_in_s(self) -> float | None:
        found = self.next_due
        return None if found is None else found.seconds - self.elapsed_s

    @property
    def peak_at(self) -> datetime | None:
        seconds = self.watch.peak_at
        return None if seconds is None else self.moment(seconds)

    @cached_property
    def opening(self) -> Opening | None:
        found = self.watch.cool_enough()
        if found is None:
            return None
        start = _start(self.firing)
        return Opening(found.expected, found.earliest, found.latest, start, OPENING_C)

    @property
    def should_be_cool(self) -> bool:
        return self.opening is not None and _is_past(self.opening.at, self.now)

    @property
    def is_surely_cool(self) -> bool:
        return self.opening is not None and _is_past(self.opening.latest_at, self.now)

    @property
    def standing(self) -> Standing | None:
        return self.watch.standing

    @property
    def latest(self) -> list[ReadingSoFar]:
        """The latest readings, the last one first."""
        return self.readings[: -LATEST - 1 : -1]

    @property
    def data(self) -> str:
        """For the script of the page: pieces of the curve, stages and moments, s from the start.

        A straight piece has four figures, an exponential six: see `schedules.services.kiln_run`.
        """
        pieces = [
            [_short(value) for value in (piece if piece.constant else piece[:4])]
            for piece in self.watch.knots()
        ]
        told: dict[str, Any] = {
            "start": round(_start(self.firing).timestamp(), 1),
            "now": round(self.now.timestamp(), 1),
            "pieces": pieces,
            "stages": [
                [_short(each.begin), None if each.end is None else _short(each.end)]
                for each in self.watch.stages()
            ],
            "due": [[each.code, _short(each.seconds)] for each in self.watch.due()],
        }
        return json.dumps(told, separators=(",", ":"))

    def moment(self, seconds: float) -> datetime:
        return _start(self.firing) + timedelta(seconds=seconds)

    def _row(self, stage: PlanStage, is_now: bool) -> CourseRow:
        segments = self.watch.plan.segments
        segment = segments[stage.index] if stage.index < len(segments) else None
        return CourseRow(
            stage,
            rate_c_per_h=None if segment is None else segment.rate,
            target_c=None if segment is None else segment.target,
            begins_at=self.moment(stage.begin),
            ends_at=None if stage.end is None else self.moment(stage.end),
            is_now=is_now,
        )


def running_firings() -> QuerySet[Firing]:
    """All that fire, with what `watch_of` wants of each; a power cut asks for its load too."""
    return (
        Firing.objects.filter(state=FiringState.FIRING)
        .select_related("kiln__learnt_response", "fired_by", "revision__schedule__family")
        .prefetch_related("revision__segments", "keyed_differences", "events", "spot_readings")
        .order_by("kiln__name", "pk")
    )


def readings_so_far(
    firing: Firing, logged: Sequence[LoggedReading] | None = None
) -> list[ReadingSoFar]:
    """What was read of a running firing's display, first to last; of what a logger sent, one
    reading in five minutes. `logged`: from `logged_so_far`, where many firings are looked at.
    """
    if logged is None:
        logged = logged_so_far([firing])[firing.pk]
    read = [ReadingSoFar(spot.at, spot.temperature_c, spot) for spot in firing.spot_readings.all()]
    read += [ReadingSoFar(each.at, each.temperature_c) for each in logged]
    return sorted(read, key=lambda each: each.at)


def watch_of(firing: Firing, readings: Sequence[ReadingSoFar]) -> Watch:
    """A running firing as it is expected to go on; pages, messages and alarms ask here.

    After a power cut it follows what was left to key, from the first reading after it.
    """
    back = power_back(firing, readings)
    if back is None or _stopped_at(firing) is not None:
        return _watch_as_keyed(firing, readings)
    response = response_of(firing.kiln, firing.room_temperature_c)
    return watch_from(
        planned_curve(back.recovery.segments, response, back.temperature_c),
        seconds_into(firing, back.at),
        _noted(firing, readings),
        repeatability=firing.kiln.repeatability_c,
        opening_temperature=OPENING_C,
    )


def power_back(firing: Firing, readings: Sequence[ReadingSoFar]) -> PowerBack | None:
    """What is to do after the latest power cut; None as long as nobody looked after it."""
    event = power_cut_of(firing)
    if event is None:
        return None
    after = next((each for each in readings if each.at >= came_back_at(event)), None)
    if after is None:
        return None
    before = _watch_as_keyed(firing, [each for each in readings if each.at < event.happened_at])
    recovery = recovery_of(
        firing,
        before,
        seconds_into(firing, event.happened_at),
        after.temperature_c,
        (event.minutes or 0) * SECONDS_PER_MINUTE,
    )
    return PowerBack(event, after.at, after.temperature_c, recovery)


def _watch_as_keyed(firing: Firing, readings: Sequence[ReadingSoFar]) -> Watch:
    return watch(
        keyed_curve(firing),
        _noted(firing, readings),
        went_on=[
            seconds_into(firing, each.happened_at)
            for each in firing.events.all()
            if each.kind == EventKind.WENT_ON_EARLY
        ],
        stopped_at=_stopped_at(firing),
        repeatability=firing.kiln.repeatability_c,
        opening_temperature=OPENING_C,
    )


def _stopped_at(firing: Firing) -> float | None:
    stops = [
        each.happened_at for each in firing.events.all() if each.kind == EventKind.STOPPED_EARLY
    ]
    return seconds_into(firing, min(stops)) if stops else None


def _noted(firing: Firing, readings: Iterable[ReadingSoFar]) -> list[Noted]:
    return [Noted(seconds_into(firing, each.at), each.temperature_c) for each in readings]


def firing_now(
    firing: Firing, now: datetime, logged: Sequence[LoggedReading] | None = None
) -> FiringNow:
    readings = readings_so_far(firing, logged)
    return FiringNow(firing, watch_of(firing, readings), now, readings)


def firings_now(now: datetime) -> list[FiringNow]:
    firings = list(running_firings())
    logged = logged_so_far(firings)
    return [firing_now(firing, now, logged[firing.pk]) for firing in firings]


def seconds_into(firing: Firing, moment: datetime) -> float:
    """s from the start; what was keyed without its seconds is not before it."""
    return max((moment - _start(firing)).total_seconds(), 0.0)


def open_alarms() -> QuerySet[RunawayAlarm]:
    return RunawayAlarm.objects.filter(answered_at=None).select_related("firing__kiln")


def version_of(person: Person, pk: int | None = None) -> str:
    """What the live page of a firing, or of all that run, rests on, by one query.

    It stays the same as long as nothing but time has passed: a page that has it needs nothing new.
    """
    rows = Firing.objects.filter(state=FiringState.FIRING)
    if pk is not None:
        rows = rows.filter(pk=pk)
    known = rows.order_by("pk").values_list(
        "pk",
        "started_at",
        "revision_id",
        "kiln_id",
        "room_temperature_c",
        "kiln__repeatability_c",
        "kiln__learnt_response__rise_at_700_c_per_h",
        "kiln__learnt_response__cooling_constant_h",
        "kiln__learnt_response__foretells",
        "kiln__use_learnt_response",
        "kiln__full_power_limit_c",
        "kiln__rise_at_700_c_per_h",
        "kiln__cooling_constant_h",
        "kiln__slow_cooling_constant_h",
        *(
            _latest(model, what)
            for model in (SpotReading, FiringEvent, KeyedDifference, RunawayAlarm)
            for what in (Max("pk"), Count("pk"))
        ),
        _last_heard(),
        _latest(RunawayAlarm, Count("answered_at")),
        _latest(RunawayAlarm, Max("shown_at")),
    )
    told = [person.unit, timezone.get_current_timezone_name(), list(known)]
    return hashlib.blake2s(repr(told).encode(), digest_size=9).hexdigest()


def _latest(model: Any, what: Any) -> Any:
    found = model.objects.filter(firing=OuterRef("pk")).order_by().values("firing")
    return Subquery(found.annotate(what=what).values("what"))


def _last_heard() -> Any:
    """When a logger of the kiln was: by that, thousands of readings need no counting."""
    heard = LoggerToken.objects.filter(kiln=OuterRef("kiln")).order_by().values("kiln")
    return Subquery(heard.annotate(last=Max("last_seen_at")).values("last"))


def _start(firing: Firing) -> datetime:
    assert firing.started_at is not None  # noqa: S101  a constraint: whatever fires has started
    return firing.started_at


def _is_past(moment: datetime | None, now: datetime) -> bool:
    return moment is not None and moment <= now


def _short(value: float) -> float:
    """To a tenth of a second or a hundredth of a degree, and no longer than it must be."""
    rounded = round(value, 2)
    return int(rounded) if rounded == int(rounded) else rounded
