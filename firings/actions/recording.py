"""Takes what the files of a firing hold, and loggers sent of it, into its series, and back."""

from collections.abc import Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from firings.advice_inputs import read_heat_work
from firings.core_inputs import comparison_of, keyed_curve, schedule_glass
from firings.models import Firing, LoggedSeries, RecordingFile, RecordingSeries
from firings.recording_inputs import (
    glass_fingerprint,
    read_files,
    saw_the_top,
    series_recording,
    with_sent,
)
from firings.services.recording import Recording, RecordingError
from firings.services.recording.packing import pack
from firings.services.top import find_top
from schedules.services.curve import Curve
from studio.models import GlassFamily, Person
from studio.services.glass import heat_work


@transaction.atomic
def recording_choose(*, file: RecordingFile, choices: dict[str, Any]) -> RecordingFile:
    """The file, to be read as somebody chose. `ValidationError` for one that is taken."""
    file = RecordingFile.objects.select_for_update().get(pk=file.pk)
    if file.taken_at is not None:
        raise ValidationError("Take it back before you read it otherwise.", code="taken")
    file.choices = choices
    file.save(update_fields=["choices"])
    return file


def recording_take(*, file: RecordingFile, by: Person) -> RecordingSeries | None:
    """The firing's series with what this file holds; taken already, it stays as it is.

    Raises `RecordingError` for a file that can't be read, and `ValidationError` where somebody
    changed the firing's files meanwhile.
    """
    file = RecordingFile.objects.select_related("firing").get(pk=file.pk)
    if file.taken_at is not None:
        return RecordingSeries.objects.defer("packed").filter(pk=file.firing_id).first()
    taken = file.firing.recording_files.filter(taken_at__isnull=False)
    return _rebuild(file, [*taken, file], by)


def recording_take_back(*, file: RecordingFile) -> RecordingSeries | None:
    """The firing's series without this file; None where it was the only one.

    Raises as `recording_take` does.
    """
    file = RecordingFile.objects.select_related("firing").get(pk=file.pk)
    if file.taken_at is None:
        return RecordingSeries.objects.defer("packed").filter(pk=file.firing_id).first()
    others = file.firing.recording_files.filter(taken_at__isnull=False).exclude(pk=file.pk)
    return _rebuild(file, list(others), None)


def _rebuild(
    file: RecordingFile, wanted: Sequence[RecordingFile], by: Person | None
) -> RecordingSeries | None:
    """The series of the wanted files, and the one file marked as taken by somebody, or not.

    The files are read before anything is locked; what was read is then held against what stands.
    """
    firing = Firing.objects.select_related("kiln", "revision__schedule__family").get(
        pk=file.firing_id
    )
    curve = keyed_curve(firing)
    files = read_files(wanted, curve) if wanted else None
    with transaction.atomic():
        Firing.objects.select_for_update().get(pk=firing.pk)
        now = RecordingFile.objects.get(pk=file.pk)
        now.taken_by, now.taken_at = by, timezone.now() if by else None
        now.save(update_fields=["taken_by", "taken_at"])
        standing = RecordingFile.objects.filter(firing=firing, taken_at__isnull=False)
        if {(each.pk, str(each.choices)) for each in standing} != {
            (each.pk, str(each.choices)) for each in wanted
        }:
            raise ValidationError(
                "Somebody changed the files of this firing meanwhile; look again.", code="moved_on"
            )
        return _keep_with_sent(firing, curve, files)


def series_follow_loggers(*, firing: Firing) -> RecordingSeries | None:
    """The firing's series made anew, after readings that loggers sent of it were packed.

    Where a file can't be read any more the series stays, and what was sent waits for the next time.
    """
    firing = Firing.objects.select_related("kiln", "revision__schedule__family").get(pk=firing.pk)
    curve = keyed_curve(firing)
    taken = list(firing.recording_files.filter(taken_at__isnull=False))
    try:
        files = read_files(taken, curve) if taken else None
    except RecordingError:
        return RecordingSeries.objects.defer("packed").filter(pk=firing.pk).first()
    return _keep_with_sent(firing, curve, files)


def _keep_with_sent(
    firing: Firing, curve: Curve, files: Recording | None
) -> RecordingSeries | None:
    recording = with_sent(files, LoggedSeries.objects.filter(pk=firing.pk).first())
    if recording is None:
        RecordingSeries.objects.filter(pk=firing.pk).delete()
        return None
    return _keep(firing, curve, recording)


def _keep(firing: Firing, curve: Curve, recording: Recording) -> RecordingSeries:
    series = RecordingSeries(
        firing=firing,
        packed=pack(recording),
        started_at=recording.started_at,
        count=recording.times.size,
    )
    _note_top(series, firing, curve, recording)
    series.full_clean(exclude=["firing"])
    series.save(force_insert=not RecordingSeries.objects.filter(pk=firing.pk).exists())
    return series


def _note_top(series: RecordingSeries, firing: Firing, curve: Curve, recording: Recording) -> None:
    """What the advice wants of the firing, so that it never unpacks the readings."""
    comparison, glass = comparison_of(firing, curve, recording), schedule_glass(firing.revision)
    top = find_top(curve.segments)
    peak, duration = comparison.peak_difference, comparison.duration_difference
    seen = peak is not None and saw_the_top(recording)
    series.peak_c = curve.peak + peak if seen and peak is not None else None
    series.hold_s = comparison.segments[top.index].hold_achieved
    series.duration_s = (
        None if duration is None or curve.duration is None else curve.duration + duration
    )
    series.heat_work = read_heat_work(curve, recording, comparison, glass)
    series.glass = glass_fingerprint(glass)


def series_follow_plan(*, firing: Firing) -> None:
    """Look at the top of a firing's series anew, after what was keyed or done was put right."""
    series = RecordingSeries.objects.filter(pk=firing.pk).first()
    if series is not None:
        firing = Firing.objects.select_related("kiln", "revision__schedule__family").get(
            pk=firing.pk
        )
        recording = series_recording(firing, series)
        _note_top(series, firing, keyed_curve(firing), recording)
        series.save(update_fields=["peak_c", "hold_s", "duration_s", "heat_work", "glass"])


@transaction.atomic
def series_follow_glass(*, family: GlassFamily) -> None:
    """Work out the heat work of all series of a family anew, after its viscosity was put right."""
    found = RecordingSeries.objects.filter(firing__revision__schedule__family=family)
    for series in found.select_related("firing__revision__schedule__family").iterator(20):
        glass = schedule_glass(series.firing.revision)
        if series.glass == glass_fingerprint(glass):
            continue
        series.glass = glass_fingerprint(glass)
        if series.heat_work is not None:
            recording = series_recording(series.firing, series)
            series.heat_work = heat_work(recording.times, recording.temperatures, glass)
        series.save(update_fields=["heat_work", "glass"])
