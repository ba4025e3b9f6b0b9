"""What a kiln's recordings taught: its response, how well it foretells, how the kiln has aged."""

import statistics
from dataclasses import dataclass
from datetime import UTC, date, datetime
from math import isfinite

from django.db.models import Prefetch, Q, QuerySet
from django.utils import timezone

from firings.advice_inputs import MOVES_TEMPERATURE, past_firing
from firings.charts import DifferenceDrawing, duration_drawing
from firings.core_inputs import (
    curve_as_on_record,
    heating_service_day,
    keyed_curve,
    schedule_glass,
    started_since,
)
from firings.models import Firing, FiringState, LoadedPiece
from firings.queries.brought import logged_here
from firings.queries.record import series_without_readings
from firings.queries.visible import open_load
from firings.recording_inputs import summary_of
from firings.services.ageing import SeenRise, Trend, rise_trend, thermocouple_drift
from firings.services.drift_evidence import JudgedFiring, judged_peaks
from firings.services.full_power import SeenFullPower
from firings.services.learnt_figures import LearntFigure, learnt_figures
from schedules.core_inputs import learnt_core_response, learnt_response_of, response_of
from studio.models import Kiln, LearntResponse, Person
from studio.services.kiln_response import SECONDS_PER_HOUR
from studio.services.response_parameters import RISE_TOLD_AT

LAST_FIRINGS = 20
MOST_AT_FULL_POWER = 150
MOST_JUDGED = 40
SECONDS_PER_DAY = 86400.0


@dataclass(frozen=True)
class FigureRow:
    """A figure as it was keyed beside what recordings say of it; °C/h, °C or s."""

    keyed: float | None
    learnt: LearntFigure


@dataclass(frozen=True)
class Learnt:
    row: LearntResponse
    figures: tuple[FigureRow, ...]


@dataclass(frozen=True)
class DurationRow:
    """How long a firing took, to the end of its last segment, and what was to be expected, in s:
    as plans are made now, and by the keyed figures alone.
    """

    firing: Firing
    recorded: float
    predicted: float
    by_keyed: float | None

    @property
    def difference(self) -> float:
        return self.recorded - self.predicted

    @property
    def share(self) -> float:
        return self.difference / self.predicted

    @property
    def keyed_share(self) -> float | None:
        return None if self.by_keyed is None else self.recorded / self.by_keyed - 1.0


@dataclass(frozen=True)
class Durations:
    """Of the last firings of which a duration is known, the latest first."""

    rows: tuple[DurationRow, ...]

    @property
    def median(self) -> float:
        return statistics.median(row.share for row in self.rows)

    @property
    def lowest(self) -> float:
        return min(row.share for row in self.rows)

    @property
    def highest(self) -> float:
        return max(row.share for row in self.rows)

    @property
    def keyed_median(self) -> float | None:
        shares = [row.keyed_share for row in self.rows if row.keyed_share is not None]
        return statistics.median(shares) if shares else None

    @property
    def drawing(self) -> DifferenceDrawing:
        return duration_drawing([row.share for row in self.rows])


@dataclass(frozen=True)
class SeenTrend:
    """A trend with the day on which it begins."""

    trend: Trend

    @property
    def since(self) -> date:
        at = datetime.fromtimestamp(self.trend.since * SECONDS_PER_DAY, UTC)
        return timezone.localdate(at)

    @property
    def least(self) -> float:
        """The end of its interval that lies nearer to no change at all, without its sign."""
        return min(abs(self.trend.low), abs(self.trend.high))

    @property
    def most(self) -> float:
        return max(abs(self.trend.low), abs(self.trend.high))


def learnt_of(kiln: Kiln) -> Learnt | None:
    row = learnt_response_of(kiln)
    if row is None:
        return None
    slow = kiln.slow_cooling_constant_h
    keyed = (
        kiln.rise_at_700_c_per_h,
        kiln.full_power_limit_c,
        kiln.cooling_constant_h * SECONDS_PER_HOUR,
        None if slow is None else slow * SECONDS_PER_HOUR,
    )
    figures = learnt_figures(learnt_core_response(row))
    return Learnt(row, tuple(FigureRow(*each) for each in zip(keyed, figures, strict=True)))


def durations(kiln: Kiln) -> Durations | None:
    """None where no duration is known."""
    known = Q(recorded_duration_s__isnull=False) | Q(series__duration_s__isnull=False)
    firings = _opened_in(kiln).filter(known)[:LAST_FIRINGS]
    rows = [_duration_row(firing, kiln) for firing in firings]
    told = tuple(row for row in rows if row is not None)
    return Durations(told) if told else None


def ageing(kiln: Kiln) -> SeenTrend | None:
    """Of the rise at full power since elements or a relay were renewed; None from too few."""
    response = response_of(kiln)
    seen = (
        Firing.objects.filter(
            started_since(heating_service_day(kiln)),
            kiln=kiln,
            state=FiringState.OPENED,
            series__full_power_at_c__isnull=False,
        )
        .order_by("-started_at")
        .values_list("started_at", "series__full_power_at_c", "series__full_power_rise_c_per_h")[
            :MOST_AT_FULL_POWER
        ]
    )
    rises = []
    for at, temperature, rate in seen:
        if temperature is None or rate is None:
            continue
        rise = SeenFullPower(temperature, rate).rise_at(RISE_TOLD_AT, response)
        if rise is not None:
            rises.append(SeenRise(_day(at), rise))
    trend = rise_trend(rises)
    return None if trend is None else SeenTrend(trend)


def drift(kiln: Kiln, reader: Person | None) -> SeenTrend | None:
    """Of glass against display since the thermocouple or the elements were renewed, by the verdicts
    that this reader may see."""
    moved = [
        entry.done_on for entry in kiln.service_entries.all() if entry.kind in MOVES_TEMPERATURE
    ]
    peak_known = Q(recorded_peak_c__isnull=False) | Q(series__peak_c__isnull=False)
    load = LoadedPiece.objects.select_related(
        "piece", "place", "judged_by", "review", "rung__ladder"
    ).prefetch_related("faults")
    firings = (
        _opened_in(kiln)
        .filter(started_since(max(moved, default=None)), peak_known, open_load(reader))
        .filter(logged_here())  # the doubt of a sheet is larger than what drifts
        .filter(load__verdict__isnull=False)
        .distinct()
        .prefetch_related(Prefetch("load", load), "events", "spot_readings")[:MOST_JUDGED]
    )
    judged = []
    for firing in firings:
        firing.kiln = kiln
        past = past_firing(firing, schedule_glass(firing.revision))
        if past is not None and past.verdict is not None and isfinite(past.heat_work):
            judged.append(
                JudgedFiring(
                    _day(firing.started_at),
                    firing.revision.schedule_id,
                    past.heat_work,
                    past.verdict,
                )
            )
    trend = thermocouple_drift(judged_peaks(judged))
    return None if trend is None else SeenTrend(trend)


def _opened_in(kiln: Kiln) -> QuerySet[Firing]:
    return (
        Firing.objects.filter(kiln=kiln, state=FiringState.OPENED)
        .select_related("revision__schedule__family", "brought")
        .prefetch_related("revision__segments", "keyed_differences", series_without_readings())
        .order_by("-started_at", "-pk")
    )


def _duration_row(firing: Firing, kiln: Kiln) -> DurationRow | None:
    firing.kiln = kiln  # one object, so that its response is read once
    recorded, predicted = summary_of(firing).duration, keyed_curve(firing).duration
    if recorded is None or not predicted:
        return None
    return DurationRow(firing, recorded, predicted, curve_as_on_record(firing).duration)


def _day(at: datetime | None) -> float:
    return 0.0 if at is None else at.timestamp() / SECONDS_PER_DAY
