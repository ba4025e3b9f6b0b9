"""Turns files and rows of recordings into the core's recordings, and back."""

from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import date, datetime, timedelta
from typing import Any, BinaryIO, Literal, cast

import numpy as np
from django.utils import timezone

from firings.models import Firing, LoggedReading, LoggedSeries, RecordingFile, RecordingSeries
from firings.services.recording import (
    ReadingChoices,
    Recording,
    RecordingError,
    RecordingPreview,
    join_recordings,
    preview_recording,
    read_recording,
    sheets_of,
)
from firings.services.recording.filling import filled_from
from firings.services.recording.gaps import gaps_of
from firings.services.recording.packing import unpack
from firings.services.recording.source import MOST_LINES
from schedules.services.curve import Curve
from studio.services.glass import Glass

ROWS = 8
"""Of a file that are shown as they were understood."""


def choices_of(kept: dict[str, Any]) -> tuple[Literal["C", "F"] | None, str, ReadingChoices]:
    """Unit, time zone and choices of the columns, from what `RecordingFile.choices` keeps."""
    names = {field.name for field in fields(ReadingChoices)}
    told = {name: value for name, value in kept.items() if name in names}
    if day := told.get("starts_on"):
        told["starts_on"] = date.fromisoformat(day)
    zone = kept.get("time_zone") or timezone.get_current_timezone_name()
    return kept.get("unit"), zone, ReadingChoices(**told)


def read_file(file: RecordingFile, plan: Curve) -> Recording:
    """The readings of one file. Raises `RecordingError` for one that can't be read."""
    unit, zone, choices = choices_of(file.choices)
    with _original(file) as original:
        return read_recording(original, unit, zone, plan, choices=choices)


def preview_file(file: RecordingFile, plan: Curve) -> RecordingPreview:
    """All of one file, with its first rows as they were understood. Raises `RecordingError`."""
    unit, zone, choices = choices_of(file.choices)
    with _original(file) as original:
        return preview_recording(
            original, unit, zone, plan, choices=choices, rows=ROWS, most_lines=MOST_LINES
        )


def sheets_of_file(file: RecordingFile) -> tuple[str, ...]:
    """The sheets of a workbook, though it may not be read; none of any other file."""
    try:
        with _original(file) as original:
            return sheets_of(original)
    except RecordingError:
        return ()


def _original(file: RecordingFile) -> BinaryIO:
    """The file as it came, opened; `RecordingError` where it is gone from its folder."""
    try:
        return cast(BinaryIO, file.original.open("rb"))
    except FileNotFoundError as gone:
        raise RecordingError("file_missing") from gone


def read_files(files: Sequence[RecordingFile], plan: Curve) -> Recording:
    """The readings of a firing's files, joined. Raises `RecordingError`."""
    return join_recordings([read_file(file, plan) for file in files])


def with_sent(files: Recording | None, logged: LoggedSeries | None) -> Recording | None:
    """What the files of a firing hold, filled from what loggers sent; None without either."""
    if logged is None:
        return files
    sent = unpack(bytes(logged.packed))
    return sent if files is None else filled_from(files, sent)


def sent_recording(firing: Firing, sent: Sequence[LoggedReading]) -> Recording | None:
    """What a logger sent of a running firing so far; None where it sent nothing."""
    if not sent or firing.started_at is None:
        return None
    seconds = [(each.at - firing.started_at).total_seconds() for each in sent]
    celsius = [each.temperature_c for each in sent]
    return Recording(
        np.array(seconds),
        np.array(celsius),
        firing.started_at,
        gaps=gaps_of(np.array(seconds)),
    )


def logged_readings_of(logged: LoggedSeries) -> dict[datetime, float]:
    """°C by the moment, as the rows were: to the millisecond."""
    sent = unpack(bytes(logged.packed))
    moments = np.rint(sent.times * 1000.0).astype(np.int64).tolist()
    return {
        logged.begins_at + timedelta(milliseconds=moment): celsius
        for moment, celsius in zip(moments, sent.temperatures.tolist(), strict=True)
    }


def has_series(firing: Firing) -> bool:
    return series_of(firing) is not None


def series_of(firing: Firing) -> RecordingSeries | None:
    """The series' row, or None; prefetch it where many firings are looked at."""
    return cast(RecordingSeries | None, getattr(firing, "series", None))


def series_recording(firing: Firing, series: RecordingSeries) -> Recording:
    """The readings, unpacked: one query more where `series` came without its columns.

    Where they do not go over the top, the peak is what was noted.
    """
    recording = unpack(bytes(series.packed))
    return recording if saw_the_top(recording) else replace(recording, peak=firing.recorded_peak_c)


def saw_the_top(recording: Recording) -> bool:
    """Whether the highest reading lies between others, not at an end or beside a gap."""
    if not recording.is_series:
        return False
    highest = int(np.nanargmax(recording.temperatures))
    at = float(recording.times[highest])
    edges = {float(recording.times[0]), float(recording.times[-1])}
    return at not in edges.union(*recording.gaps)


def summary_of(firing: Firing) -> Recording:
    """Peak, hold and duration: what the readings came to, or what was noted.

    The readings themselves are not unpacked.
    """
    series = series_of(firing)
    if series is None:
        return noted_recording(firing)
    seen = series.peak_c is not None
    return Recording(
        started_at=series.started_at,
        peak=series.peak_c if seen else firing.recorded_peak_c,
        duration=series.duration_s,
        hold=series.hold_s if seen else None,
    )


def noted_recording(firing: Firing) -> Recording:
    """Peak, hold and duration; of each, None where it was not noted."""
    hold, duration = firing.recorded_hold_s, firing.recorded_duration_s
    return Recording(
        started_at=firing.started_at,
        peak=firing.recorded_peak_c,
        duration=None if duration is None else float(duration),
        hold=None if hold is None else float(hold),
    )


def spot_recording(firing: Firing) -> Recording:
    """The readings noted by hand, from the firing's start; no series where there are none."""
    start = firing.started_at
    readings = [each for each in firing.spot_readings.all() if start is not None]
    if start is None or not readings:
        return Recording()
    # A reading of the start's own minute was keyed without its seconds.
    seconds = [max((each.at - start).total_seconds(), 0.0) for each in readings]
    return Recording(seconds, [each.temperature_c for each in readings], started_at=start)  # type: ignore[arg-type]


def glass_fingerprint(glass: Glass) -> str:
    """Names the glass in which a heat work was worked out."""
    points = (glass.strain_point, glass.annealing_point, glass.softening_point)
    return " ".join(f"{point:g}" for point in points)
