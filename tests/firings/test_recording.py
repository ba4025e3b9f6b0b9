"""The series of a firing: joined of its files, held against the plan, read by the advice."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from firings.actions import recording as actions
from firings.actions.keyed import keyed_set
from firings.actions.recording import recording_take, recording_take_back
from firings.actions.recording_files import recording_files_add
from firings.advice_inputs import past_firing
from firings.core_inputs import comparison_of, keyed_curve, recording_of, schedule_glass
from firings.models import (
    EventKind,
    Firing,
    FiringEvent,
    RecordingFile,
    RecordingSeries,
    SpotReading,
)
from firings.queries.kiln_history import firings_in, history_rows, peak_differences
from firings.queries.logbook import firings_for_logbook, logbook_rows
from firings.queries.tuning import firings_of_schedule
from firings.services.evidence import (
    FULL_RECORDING_UNCERTAINTY,
    PEAK_AND_DURATION_UNCERTAINTY,
    PastFiring,
    beside_the_plan,
)
from schedules.core_inputs import written_segments
from studio.models import Person
from tests.factories import load_piece, make_firing, make_revision, make_schedule
from tests.firings.logger_files import logger_file, recorded

START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)
TOP = 2
"""Index of the top among the usual segments."""


def fired(person: Person, **overrides: Any) -> Firing:
    told = {"state": "opened", "started_at": START, "opened_at": START + timedelta(hours=30)}
    return make_firing(person, **told | overrides)


def added(firing: Firing, **shape: Any) -> RecordingFile:
    [file], _ = recording_files_add(
        firing=firing, by=firing.fired_by, files=[logger_file(firing, **shape)]
    )
    return file


def evidence(firing: Firing) -> PastFiring:
    firing = firings_of_schedule(firing.revision.schedule, None).get(pk=firing.pk)
    found = past_firing(firing, schedule_glass(firing.revision))
    assert found is not None
    return found


def noted(firing: Firing, minutes: float, temperature_c: float) -> SpotReading:
    return SpotReading.objects.create(
        firing=firing,
        at=START + timedelta(minutes=minutes),
        temperature_c=temperature_c,
        noted_by=firing.fired_by,
    )


def test_two_files_make_one_series(artist: Person) -> None:
    firing = fired(artist)
    late = added(firing, name="late.csv", since_s=5 * 3600.0)
    early = added(firing, name="early.csv", until_s=5 * 3600.0)
    recording_take(file=late, by=artist)
    assert firing.series.started_at == START + timedelta(hours=5)
    recording_take(file=early, by=artist)
    whole = recording_of(Firing.objects.get(pk=firing.pk))
    assert whole.started_at == START
    assert whole.times[-1] > 12 * 3600
    assert not whole.gaps
    assert "parts_joined" in {remark.code for remark in whole.remarks}
    recording_take_back(file=early)
    assert RecordingSeries.objects.get().started_at == START + timedelta(hours=5)


def test_files_changed_meanwhile_are_said_and_nothing_is_kept(
    artist: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    firing = fired(artist)
    first, second = added(firing), added(firing, every_s=30.0)
    read = actions.read_files

    def somebody_is_quicker(*args: Any) -> Any:
        RecordingFile.objects.filter(pk=second.pk).update(
            taken_at=timezone.now(), taken_by=artist.pk
        )
        return read(*args)

    monkeypatch.setattr(actions, "read_files", somebody_is_quicker)
    with pytest.raises(ValidationError, match="meanwhile"):
        recording_take(file=first, by=artist)
    assert not RecordingSeries.objects.exists()
    assert RecordingFile.objects.get(pk=first.pk).taken_at is None


def test_series_wins_over_what_was_noted(artist: Person) -> None:
    firing = fired(artist, recorded_peak_c=807.0, recorded_hold_s=60, recorded_duration_s=60)
    recorded(firing, by=artist)
    noted(firing, 30, 90.0)
    recording = recording_of(Firing.objects.get(pk=firing.pk))
    assert recording.highest == pytest.approx(804.0, abs=0.1)
    assert (recording.hold, recording.duration) == (None, None)


def test_a_series_that_missed_the_top_leaves_it_to_the_note(artist: Person) -> None:
    firing = fired(artist, recorded_peak_c=806.0)
    recorded(firing, by=artist, until_s=2 * 3600.0)
    firing = Firing.objects.get(pk=firing.pk)
    assert recording_of(firing).highest == 806.0
    _, as_noted = beside_the_plan(1.0, 1.0)
    assert FULL_RECORDING_UNCERTAINTY < as_noted < PEAK_AND_DURATION_UNCERTAINTY
    assert evidence(firing).uncertainty == pytest.approx(as_noted)


def test_readings_by_hand_are_a_recording_beside_peak_and_duration(artist: Person) -> None:
    firing = fired(artist, recorded_peak_c=803.0, recorded_duration_s=36000)
    noted(firing, 60, 170.0)
    noted(firing, 0, 21.0)
    recording = recording_of(firing)
    assert recording.times.tolist() == [0.0, 3600.0]
    assert recording.temperatures.tolist() == [21.0, 170.0]
    assert (recording.peak, recording.duration) == (803.0, 36000.0)


def test_a_reading_in_the_minute_of_the_start_is_not_before_it(artist: Person) -> None:
    firing = fired(artist, started_at=START + timedelta(seconds=40))
    noted(firing, 0, 21.0)
    assert recording_of(firing).times.tolist() == [0.0]


@pytest.mark.parametrize(("seen", "peak_difference"), [(801.0, -3.0), (700.0, None)])
def test_a_reading_by_hand_is_the_peak_only_about_the_top(
    artist: Person, seen: float, peak_difference: float | None
) -> None:
    firing = fired(artist)
    for minutes, temperature_c in [(0, 20.0), (120, 400.0), (290, seen), (600, 300.0)]:
        noted(firing, minutes, temperature_c)
    curve, recording = keyed_curve(firing), recording_of(firing)
    comparison = comparison_of(firing, curve, recording)
    assert comparison.peak_difference == (
        None if peak_difference is None else pytest.approx(peak_difference)
    )
    assert all(segment.start is None for segment in comparison.segments)


def test_readings_by_hand_close_together_tell_the_segments(artist: Person) -> None:
    firing = fired(artist)
    curve = keyed_curve(firing)
    for minutes in range(0, 700, 10):
        noted(firing, minutes, round(float(curve.at(minutes * 60.0))))
    comparison = comparison_of(firing, curve, recording_of(firing))
    assert comparison.peak_difference == pytest.approx(0.0, abs=2.0)
    assert comparison.segments[1].start is not None


def test_a_stop_on_record_is_told_of_the_readings(artist: Person) -> None:
    firing = fired(artist)
    curve = keyed_curve(firing)
    for minutes in range(0, 700, 10):
        noted(firing, minutes, round(float(curve.at(minutes * 60.0))))
    stopped = curve.spans[0].hold_end + 1800.0
    FiringEvent.objects.create(
        firing=firing,
        kind=EventKind.STOPPED_EARLY,
        happened_at=START + timedelta(seconds=stopped),
        noted_by=artist,
    )
    remarks = comparison_of(firing, curve, recording_of(firing)).remarks
    [remark] = [each for each in remarks if each.code == "stopped_early"]
    assert remark.figures["begin"] == pytest.approx(stopped)
    assert remark.figures["segment"] == 1.0


def test_the_advice_takes_a_full_recording_at_its_word(artist: Person) -> None:
    firing = fired(artist)
    planned = evidence(firing).heat_work
    recorded(firing, by=artist, hotter_c=4.0)
    full = evidence(firing)
    assert full.uncertainty == pytest.approx(0.05)
    assert full.heat_work == pytest.approx(planned * 1.15, rel=0.05)
    assert not full.missed_plan


def test_a_recorded_miss_is_a_missed_plan(artist: Person) -> None:
    firing = fired(artist, recorded_peak_c=804.0)
    recorded(firing, by=artist, hotter_c=-9.0)
    assert evidence(firing).missed_plan


def test_evidence_follows_what_was_keyed(artist: Person) -> None:
    firing = fired(artist)
    recorded(firing, by=artist)
    segments = written_segments(firing.revision)
    segments[2] = replace(segments[2], target=Decimal(790))
    assert not evidence(firing).missed_plan
    keyed_set(firing=firing, keyed=segments)
    assert evidence(firing).missed_plan
    assert RecordingSeries.objects.get().heat_work == pytest.approx(
        evidence(firing).heat_work, rel=1e-6
    )


def test_evidence_follows_the_familys_glass(artist: Person) -> None:
    firing = fired(artist)
    recorded(firing, by=artist)
    before = evidence(firing)
    family = firing.revision.schedule.family
    family.softening_point_c += 10
    family.save()
    after = evidence(firing)
    assert after.heat_work < 0.8 * before.heat_work
    assert after.uncertainty == pytest.approx(0.05)
    recording_take_back(file=firing.recording_files.get())
    recording_take(file=firing.recording_files.get(), by=artist)
    assert evidence(firing).heat_work == pytest.approx(after.heat_work, rel=1e-3)


def test_history_and_logbook_know_the_recorded_peak(artist: Person) -> None:
    firing = fired(artist, recorded_peak_c=None)
    recorded(firing, by=artist, hotter_c=2.0)
    [row] = history_rows(firings_in(firing.kiln))
    assert row.peak_difference == pytest.approx(2.0, abs=0.7)
    found = peak_differences(firing.kiln)
    assert found is not None
    assert found.median == row.peak_difference


def test_no_list_loads_the_readings(artist: Person) -> None:
    revision = make_revision(make_schedule(artist))
    for day in range(3):
        firing = fired(
            artist,
            revision=revision,
            started_at=START + timedelta(days=day),
            opened_at=START + timedelta(days=day, hours=20),
        )
        load_piece(firing, verdict=0)
        recorded(firing, by=artist)
    with CaptureQueriesContext(
        connection,
    ) as asked:
        logbook_rows(firings_for_logbook())
        history_rows(firings_in(firing.kiln))
        for each in firings_of_schedule(revision.schedule, None):
            past_firing(each, schedule_glass(revision))
    assert any('"firings_recordingseries"' in query["sql"] for query in asked)
    assert not any('"packed"' in query["sql"] for query in asked)


def test_a_stop_that_is_noted_later_ends_the_hold_that_was_kept(artist: Person) -> None:
    firing = fired(artist)
    recording_take(file=added(firing), by=artist)
    whole = RecordingSeries.objects.get(pk=firing.pk).hold_s
    assert whole is not None
    span = keyed_curve(firing).spans[TOP]
    stop = FiringEvent.objects.create(
        firing=firing,
        kind=EventKind.STOPPED_EARLY,
        happened_at=START + timedelta(seconds=span.hold_start + whole / 2),
        noted_by=artist,
    )
    kept = RecordingSeries.objects.get(pk=firing.pk)
    assert kept.hold_s is None or kept.hold_s < whole
    now = Firing.objects.get(pk=firing.pk)
    compared = comparison_of(now, keyed_curve(now), recording_of(now))
    assert kept.hold_s == compared.segments[TOP].hold_achieved

    stop.delete()
    assert RecordingSeries.objects.get(pk=firing.pk).hold_s == whole
