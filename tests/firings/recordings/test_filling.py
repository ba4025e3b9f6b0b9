"""A file's recording, filled from what a logger sent where it has nothing."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from firings.services.recording import Recording
from firings.services.recording.filling import filled_from

START = datetime(2026, 3, 12, 18, 0, tzinfo=UTC)


def line(begin_s: float, end_s: float, celsius: float) -> Recording:
    times = np.arange(0.0, end_s - begin_s + 1.0, 60.0)
    return Recording(times, np.full(times.size, celsius), START + timedelta(seconds=begin_s))


def test_before_and_after_the_file_what_was_sent_counts() -> None:
    filled = filled_from(line(600.0, 1200.0, 500.0), line(0.0, 1800.0, 503.0))

    assert filled.started_at == START
    assert filled.times.tolist() == np.arange(0.0, 1801.0, 60.0).tolist()
    within = (filled.times >= 600.0) & (filled.times <= 1200.0)
    assert set(filled.temperatures[within]) == {500.0}
    assert set(filled.temperatures[~within]) == {503.0}
    assert filled.remarks[-1].figures == {"count": 20.0}


def test_a_gap_of_the_file_is_closed() -> None:
    times = np.concatenate([np.arange(0.0, 601.0, 60.0), np.arange(3600.0, 4201.0, 60.0)])
    file = Recording(times, np.full(times.size, 500.0), START, gaps=[(600.0, 3600.0)])

    filled = filled_from(file, line(0.0, 4200.0, 503.0))

    assert filled.gaps == ()
    assert np.diff(filled.times).max() == 60.0


@pytest.mark.parametrize("started_at", [None, START.replace(tzinfo=None)])
def test_without_a_clock_nothing_is_mixed(started_at: datetime | None) -> None:
    file = Recording(np.array([0.0, 60.0]), np.array([500.0, 501.0]), started_at)

    filled = filled_from(file, line(0.0, 600.0, 503.0))

    assert filled.times.tolist() == [0.0, 60.0]
    assert filled.remarks[-1].code == "sent_readings_left_out"


def test_where_the_file_has_all_nothing_is_added_or_said() -> None:
    file = line(0.0, 1200.0, 500.0)

    assert filled_from(file, line(300.0, 900.0, 503.0)) is file
    assert filled_from(Recording(peak=804.0), file) is file
