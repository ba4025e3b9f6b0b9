"""Files as a data logger would write them of a firing that did just what was planned."""

from datetime import datetime, timedelta
from typing import Any

import numpy as np
from django.core.files.uploadedfile import SimpleUploadedFile

from firings.actions.recording import recording_take
from firings.actions.recording_files import recording_files_add
from firings.core_inputs import keyed_curve
from firings.models import Firing, RecordingFile
from studio.models import Person
from studio.services.units import from_celsius


def logger_file(
    firing: Firing,
    name: str = "heron.csv",
    *,
    every_s: float = 60.0,
    hotter_c: float = 0.0,
    unit: str = "C",
    since_s: float = 0.0,
    until_s: float | None = None,
    without_s: tuple[float, float] | None = None,
    header: str = "time,chamber °{unit}",
    clock: datetime | None = None,
) -> SimpleUploadedFile:
    """UTC clock times and the planned curve, `hotter_c` above it at its top."""
    curve = keyed_curve(firing)
    end = until_s or curve.cool_to(80.0) or curve.duration
    seconds = np.arange(since_s, end, every_s)
    if without_s is not None:
        seconds = seconds[(seconds <= without_s[0]) | (seconds >= without_s[1])]
    planned = curve.at(seconds)
    celsius = planned + hotter_c * np.clip((planned - 700.0) / 100.0, 0.0, 1.0)
    start = clock or firing.started_at
    lines = [header.format(unit=unit)]
    for second, value in zip(seconds.tolist(), celsius.tolist(), strict=True):
        at = start + timedelta(seconds=second)
        lines.append(f"{at:%Y-%m-%d %H:%M:%S},{float(from_celsius(value, unit)):.1f}")
    return SimpleUploadedFile(name, "\n".join(lines).encode(), "text/csv")


def recorded(firing: Firing, *, by: Person, **shape: Any) -> RecordingFile:
    """A logger's file of the firing, added and taken."""
    [file], _ = recording_files_add(firing=firing, by=by, files=[logger_file(firing, **shape)])
    recording_take(file=file, by=by)
    file.refresh_from_db()
    return file
