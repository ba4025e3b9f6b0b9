"""What was recorded of a firing, as its page shows it: segments, ranges, files, readings."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.shortcuts import get_object_or_404

from firings.charts import FiringChart, firing_chart, recording_offset
from firings.core_inputs import (
    FAR_APART_S,
    comparison_of,
    keyed_curve,
    recording_of,
    shows_segments,
)
from firings.models import Firing, FiringState, RecordingFile, SpotReading
from firings.queries.logged_readings import logged_of, logged_so_far
from firings.queries.record import firings_for_page
from firings.queries.visible import as_seen_by
from firings.recording_inputs import has_series, sent_recording, series_of
from firings.services.bands import Band, FastestCooling
from firings.services.comparison import Comparison
from firings.services.recording import Recording, RecordingRemark
from firings.services.segment_comparison import SegmentComparison
from schedules.services.curve import Curve, Segment
from studio.models import Person

TOLD_BY_DASHES = ("duration_not_recorded", "peak_not_recorded")
"""Remarks of a comparison that say no more than the table's own dashes."""


@dataclass(frozen=True)
class SegmentRow:
    """A planned segment beside what was found of it; the moments None where no clock is known."""

    position: int
    planned: Segment
    found: SegmentComparison
    starts_at: datetime | None

    @property
    def is_beyond(self) -> dict[str, bool]:
        """Which of its figures are more than this kiln differs from firing to firing."""
        return dict.fromkeys(self.found.beyond, True)


@dataclass(frozen=True)
class BandRow:
    band: Band

    @property
    def difference(self) -> float | None:
        recorded = self.band.recorded
        return None if recorded is None else recorded - self.band.planned


@dataclass(frozen=True)
class RemarkRow:
    """A remark of the comparison: its code and figures, and where it names them, its moments."""

    code: str
    figures: Mapping[str, float]
    begins_at: datetime | None = None
    ends_at: datetime | None = None

    @property
    def position(self) -> int:
        return int(self.figures.get("segment", -1)) + 1


@dataclass(frozen=True)
class Recorded:
    """What was recorded; `count` readings, of which `by_hand` says that somebody noted them.

    `starts_at` is the moment of the first reading, None where it can't be told. `clock_off` is that
    moment by the recording's own clock, where it can't be of this firing. `nearest_s` is how near
    readings by hand must lie to show a segment, where these do not. `sent` are a logger's of a
    running firing: its recording has one of them in five minutes.
    """

    count: int
    by_hand: bool
    lasted_s: float | None
    starts_at: datetime | None
    clock_off: datetime | None
    nearest_s: float | None
    segments: tuple[SegmentRow, ...]
    bands: tuple[BandRow, ...]
    cooling: FastestCooling
    remarks: tuple[RemarkRow, ...]
    reading_remarks: tuple[RecordingRemark, ...]
    files: tuple[RecordingFile, ...]
    spots: tuple[SpotReading, ...]
    sent: int = 0

    @property
    def is_series(self) -> bool:
        return self.count > 0

    @property
    def is_segmented(self) -> bool:
        return any(row.found.end is not None for row in self.segments)

    @property
    def waiting(self) -> tuple[RecordingFile, ...]:
        """Files that nobody has taken yet."""
        return tuple(file for file in self.files if file.taken_at is None)


@dataclass(frozen=True)
class RecordedFiring:
    """A firing with its plan, what was recorded of it, and how the two compare; `sent` as for
    `Recorded`."""

    firing: Firing
    curve: Curve
    recording: Recording
    comparison: Comparison
    sent: int = 0

    @property
    def recorded(self) -> Recorded:
        return recorded_of(self.firing, self.curve, self.recording, self.comparison, sent=self.sent)

    def chart(self, unit: str) -> FiringChart:
        return firing_chart(
            self.firing,
            self.curve,
            self.recording,
            self.comparison,
            unit,
            is_sent=self.sent > 0,
        )


def recorded_firing(pk: int, reader: Person | None = None) -> RecordedFiring:
    """The firing with all that its page shows, its readings unpacked; `Http404` for none."""
    firing = as_seen_by(
        reader, get_object_or_404(firings_for_page(reader).select_related("series"), pk=pk)
    )
    curve, recording, sent = keyed_curve(firing), recording_of(firing), 0
    comparison = comparison_of(firing, curve, recording)
    if firing.state == FiringState.FIRING and not has_series(firing):
        # It is drawn; what is not over yet is compared by nothing that was sent.
        so_far = sent_recording(firing, logged_so_far([firing])[firing.pk])
        if so_far is not None:
            recording, sent = so_far, logged_of(firing).count()
    return RecordedFiring(firing, curve, recording, comparison, sent)


def recorded_of(
    firing: Firing,
    curve: Curve,
    recording: Recording,
    comparison: Comparison,
    *,
    sent: int = 0,
) -> Recorded:
    """For a firing of `firings_for_page`; asks the database nothing."""
    series = series_of(firing)
    moments = _Moments(firing, recording, comparison)
    return Recorded(
        count=int(recording.times.size),
        by_hand=series is None and not sent,
        lasted_s=float(recording.times[-1]) if recording.is_series else None,
        starts_at=moments.at(0.0),
        clock_off=moments.clock_off,
        nearest_s=FAR_APART_S
        if series is None and not sent and recording.is_series and not shows_segments(recording)
        else None,
        segments=tuple(
            SegmentRow(index + 1, planned, found, moments.at(found.start))
            for index, (planned, found) in enumerate(
                zip(curve.segments, comparison.segments, strict=True)
            )
        ),
        bands=tuple(BandRow(band) for band in comparison.bands),
        cooling=comparison.cooling,
        remarks=tuple(
            RemarkRow(
                remark.code,
                remark.figures,
                moments.at(remark.figures.get("begin")),
                moments.at(remark.figures.get("end")),
            )
            for remark in comparison.remarks
            if remark.code not in TOLD_BY_DASHES
        ),
        reading_remarks=tuple(recording.remarks),
        files=tuple(firing.recording_files.all()),
        spots=tuple(firing.spot_readings.all()),
        sent=sent,
    )


class _Moments:
    """Seconds of a recording as moments, by its own clock or by the firing's."""

    def __init__(self, firing: Firing, recording: Recording, comparison: Comparison) -> None:
        offset = timedelta(seconds=recording_offset(firing, recording, comparison))
        self.first: datetime | None = None
        self.clock_off: datetime | None = None
        if firing.started_at is None or not recording.is_series:
            return
        self.first = firing.started_at + offset
        if recording.started_at is not None and recording.started_at != self.first:
            self.clock_off = recording.started_at

    def at(self, seconds: float | None) -> datetime | None:
        if self.first is None or seconds is None:
            return None
        return self.first + timedelta(seconds=seconds)
