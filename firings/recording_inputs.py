"""Turns files and rows of recordings into the core's recordings, and back."""

from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import date
from typing import Any, BinaryIO, Literal, cast

from django.utils import timezone

from firings.models import Firing, RecordingFile, RecordingSeries
from firings.services.recording import (
    ReadingChoices,
    Recording,
    RecordingPreview,
    join_recordings,
    preview_recording,
    read_recording,
)
from firings.services.recording.packing import unpack
from firings.services.recording.source import MOST_LINES
from schedules.services.curve import Curve
from studio.services.glass import Glass

ROWS = 8
"""Of a file that are shown as they were understood."""
NOTED_PEAK_ABOVE = 5.0
"""°C by which a noted peak is above all readings of a series that did not see the top."""


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
    with file.original.open("rb") as original:
        return read_recording(cast(BinaryIO, original), unit, zone, plan, choices=choices)


def preview_file(file: RecordingFile, plan: Curve) -> RecordingPreview:
    """All of one file, with its first rows as they were understood. Raises `RecordingError`."""
    unit, zone, choices = choices_of(file.choices)
    with file.original.open("rb") as original:
        return preview_recording(
            cast(BinaryIO, original),
            unit,
            zone,
            plan,
            choices=choices,
            rows=ROWS,
            most_lines=MOST_LINES,
        )


def read_files(files: Sequence[RecordingFile], plan: Curve) -> Recording:
    """The readings of a firing's files, joined. Raises `RecordingError`."""
    return join_recordings([read_file(file, plan) for file in files])


def has_series(firing: Firing) -> bool:
    return series_of(firing) is not None


def series_of(firing: Firing) -> RecordingSeries | None:
    """The series' row, or None; prefetch it where many firings are looked at."""
    return cast(RecordingSeries | None, getattr(firing, "series", None))


def series_recording(firing: Firing, series: RecordingSeries) -> Recording:
    """The readings, unpacked: one query more where `series` came without its columns."""
    recording = unpack(bytes(series.packed))
    return replace(recording, peak=_peak_missed(firing, recording.highest))


def series_summary(firing: Firing, series: RecordingSeries) -> Recording:
    """What the readings came to at the top, without unpacking them."""
    missed = _peak_missed(firing, series.peak_c)
    return Recording(
        started_at=series.started_at,
        peak=series.peak_c if missed is None else missed,
        duration=series.duration_s,
        hold=series.hold_s if missed is None else None,
    )


def _peak_missed(firing: Firing, highest: float | None) -> float | None:
    """The noted peak, where the readings did not see the top at all."""
    noted = firing.recorded_peak_c
    missed = noted is not None and (highest is None or noted > highest + NOTED_PEAK_ABOVE)
    return noted if missed else None


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
