"""What the demo studio's logger wrote of a firing, and what people noted beside a kiln.

The courses are invented: a kiln somewhat weaker and slower to cool than its record says, with its
own miss at the top, a little overshoot, a thermocouple that lags, and noise.
"""

import zoneinfo
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, tzinfo

import numpy as np
from django.core.files.base import ContentFile
from django.utils import timezone
from numpy.typing import NDArray

from firings.actions.logged_readings import logged_readings_take
from firings.actions.logger import logger_token_make
from firings.actions.recording import recording_take
from firings.actions.recording_files import recording_files_add
from firings.actions.spot_readings import spot_reading_add
from firings.core_inputs import keyed_curve
from firings.forms.sent_readings import Batch, SentReading
from firings.models import Firing, RecordingFile
from firings.services.top import find_top
from schedules.services.curve import Curve, planned_curve
from studio.models import Person

Floats = NDArray[np.float64]

STEP_S = 60.0
LAG_S = 40.0
NOISE_C = 0.4
OVERSHOOT_C, OVERSHOOT_S = 1.6, 240.0
ENDS_AT_C = 45.0
WEAKER = 3.0  # times weaker at full power than late in all
EVERY_THIRD, EVERY_TENTH = 3, 10
BEHIND_AT_S, BEHIND_C = (0.0, 3600.0, 9360.0), (0.0, 2.0, 5.0)


@dataclass(frozen=True)
class Course:
    """What the kiln did, by what its display showed of it: at the top, and how much too late.

    It is late where it is by itself: at full power and switched off, not on a ramp that it can
    follow.
    """

    curve: Curve

    @classmethod
    def of(cls, firing: Firing) -> "Course":
        plan = keyed_curve(firing)
        segments, top = list(plan.segments), find_top(plan.segments)
        peak, hold = firing.recorded_peak_c, firing.recorded_hold_s
        segments[top.index] = replace(
            segments[top.index],
            target=top.peak if peak is None else peak,
            hold=top.hold if hold is None else float(hold),
        )
        late = (firing.recorded_duration_s or 0.0) / (plan.duration or 1.0) or 1.0
        known, slow = plan.response, plan.response.slow_cooling_time_constant
        kiln = replace(
            known,
            heating_time_constant=known.heating_time_constant * late**WEAKER,
            cooling_time_constant=known.cooling_time_constant * late,
            slow_cooling_time_constant=None if slow is None else slow * late,
        )
        return cls(planned_curve(segments, kiln, plan.start))

    @property
    def cool_after(self) -> float:
        return self.curve.cool_to(ENDS_AT_C) or 0.0

    def at(self, seconds: Floats) -> Floats:
        return self.curve.at(np.maximum(seconds, 0.0))

    def shown(self, seconds: Floats, chance: np.random.Generator) -> Floats:
        """What a thermocouple makes of it, with the controller's overshoot."""
        shown = self.at(seconds - LAG_S)
        previous = self.curve.start
        for span, segment in zip(self.curve.spans, self.curve.segments, strict=False):
            since = np.clip(seconds - span.hold_start, 0.0, None) / OVERSHOOT_S
            if segment.target > previous and segment.hold:
                shown = shown + OVERSHOOT_C * chance.random() * since * np.exp(1.0 - since)
            previous = segment.target
        return np.round(shown + chance.normal(0.0, NOISE_C, seconds.size), 1)


def record(firing: Firing, number: int, time_zone: str) -> None:
    """Give about every third firing a logger's file, and some of the others readings by hand."""
    chance = np.random.default_rng([20, number])
    zone = zoneinfo.ZoneInfo(time_zone)
    course = Course.of(firing)
    if number % EVERY_THIRD == 0:
        with timezone.override(zone):
            _add_file(firing, course, chance, zone)
    elif number % EVERY_TENTH == 4:
        _note_by_hand(firing, course, chance)


def recorded_csv(
    course: Course, chance: np.random.Generator, started_at: datetime, zone: tzinfo
) -> bytes:
    """A logger's file, in one of the two ways in which the studio's loggers write."""
    seconds = np.arange(0.0, course.cool_after + STEP_S, STEP_S)
    european = chance.random() < 0.5
    shown, planned = course.shown(seconds, chance), course.at(seconds)
    head = "date;time;chamber °C" if european else "time,chamber (°C),setpoint (°C)"
    lines = [f"# kiln logger, {seconds.size} readings", head]
    begin = started_at.astimezone(UTC)
    for second, value, asked in zip(
        seconds.tolist(), shown.tolist(), planned.tolist(), strict=True
    ):
        at = (begin + timedelta(seconds=second)).astimezone(zone)
        if european:
            comma = f"{value:.1f}".replace(".", ",")
            lines.append(f"{at:%d.%m.%Y};{at:%H:%M:%S};{comma}")
        else:
            lines.append(f"{at:%Y-%m-%d %H:%M:%S},{value:.1f},{asked:.0f}")
    return ("\r\n".join(lines) + "\r\n").encode()


def _add_file(firing: Firing, course: Course, chance: np.random.Generator, zone: tzinfo) -> None:
    assert firing.started_at  # noqa: S101 — all of the year's are started
    assert firing.opened_at  # noqa: S101 — and opened
    content = recorded_csv(course, chance, firing.started_at, zone)
    by, moment = firing.fired_by, firing.opened_at + timedelta(minutes=40)
    name = f"{firing.kiln.name.lower()}-{firing.started_at:%Y%m%d}.csv"
    [file], _ = recording_files_add(firing=firing, by=by, files=[ContentFile(content, name)])
    recording_take(file=file, by=by)
    RecordingFile.objects.filter(pk=file.pk).update(added_at=moment, taken_at=moment)


def _note_by_hand(firing: Firing, course: Course, chance: np.random.Generator) -> None:
    """Some looks at the display: on the way up, about the top, and once while it cools."""
    assert firing.started_at  # noqa: S101 — all of the year's are opened
    top = course.curve.spans[find_top(course.curve.segments).index]
    around = (top.hold_start + top.hold_end) / 2
    looks = [0.4 * around, 0.8 * around, around, around + 2.5 * 3600]
    shown = course.shown(np.array(looks), chance).round()
    for index, (seconds, value) in enumerate(zip(looks, shown.tolist(), strict=True)):
        at = (firing.started_at + timedelta(seconds=seconds)).replace(second=0, microsecond=0)
        spot_reading_add(
            firing=firing,
            by=firing.fired_by,
            at=at,
            temperature_c=value,
            note="Looked in: edges soft." if index == 2 else "",
        )


def send_so_far(firing: Firing, by: Person, until: datetime) -> None:
    """What a logger sent of a running kiln: a little behind its plan, as it usually is."""
    assert firing.started_at  # noqa: S101 — it runs
    chance = np.random.default_rng(21)
    token, _ = logger_token_make(kiln=firing.kiln, by=by, name="Bench logger")
    seconds = np.arange(0.0, (until - firing.started_at).total_seconds(), STEP_S)
    behind = np.interp(seconds, BEHIND_AT_S, BEHIND_C)
    shown = keyed_curve(firing).at(seconds) - behind + chance.normal(0.0, NOISE_C, seconds.size)
    readings = [
        SentReading(index, firing.started_at + timedelta(seconds=second), value)
        for index, (second, value) in enumerate(
            zip(seconds.tolist(), shown.round(1).tolist(), strict=True)
        )
    ]
    logged_readings_take(token=token, batch=Batch("C", readings, []))
