import datetime as dt

import numpy as np
import pytest

from firings.services.recording import Recording, RecordingRemark, join_recordings

START = dt.datetime(2026, 3, 12, 18, 0, tzinfo=dt.UTC)


def part(first_minute: float, *values: float, start: dt.datetime | None = START) -> Recording:
    times = np.arange(len(values)) * 60.0
    begins = None if start is None else start + dt.timedelta(minutes=first_minute)
    return Recording(times, np.array(values), begins)


def codes(recording: Recording) -> list[str]:
    return [remark.code for remark in recording.remarks]


def test_parts_go_where_they_started_whatever_the_order() -> None:
    joined = join_recordings([part(3, 500, 510), part(0, 20, 25, 30)])
    assert joined.times.tolist() == [0.0, 60.0, 120.0, 180.0, 240.0]
    assert joined.temperatures.tolist() == [20.0, 25.0, 30.0, 500.0, 510.0]
    assert joined.started_at == START
    assert codes(joined) == ["parts_joined"]
    assert joined.gaps == ()


def test_time_between_two_parts_is_a_gap() -> None:
    joined = join_recordings([part(0, 20, 25, 30), part(60, 500, 510)])
    assert joined.gaps == ((120.0, 3600.0),)


def test_overlapping_parts_count_each_moment_once() -> None:
    joined = join_recordings([part(0, 20, 25, 30, 35), part(2, 31, 36, 40)])
    assert joined.times.tolist() == [0.0, 60.0, 120.0, 180.0, 240.0]
    assert joined.temperatures.tolist() == [20.0, 25.0, 30.0, 35.0, 40.0]
    [remark] = [each for each in joined.remarks if each.code == "parts_overlap"]
    assert remark.figures == {"seconds": 60.0}


def test_gap_of_one_part_is_filled_by_another() -> None:
    broken = Recording([0.0, 60.0, 3600.0, 3660.0], [20, 25, 80, 85], START, gaps=[(60.0, 3600.0)])
    other = part(2, *range(30, 86))
    assert join_recordings([broken, other]).gaps == ()
    assert join_recordings([broken, part(61, 85, 86)]).gaps == ((60.0, 3600.0),)


@pytest.mark.parametrize("second", [None, START.replace(tzinfo=None)])
def test_parts_that_cannot_be_placed_follow_each_other_with_a_gap(second) -> None:
    joined = join_recordings([part(0, 20, 25), part(0, 500, 510, start=second)])
    assert joined.times.tolist() == [0.0, 60.0, 120.0, 180.0]
    assert joined.gaps == ((60.0, 120.0),)
    assert "parts_in_given_order" in codes(joined)
    assert joined.started_at == START


def test_noted_peaks_and_remarks_are_kept() -> None:
    noted = Recording(peak=806.0, hold=600.0, remarks=[RecordingRemark("no_zone")])
    joined = join_recordings([part(0, 20, 800), noted])
    assert (joined.peak, joined.hold, joined.duration) == (806.0, None, None)
    assert codes(joined) == ["no_zone", "parts_joined"]
    assert joined.times.size == 2


def test_noted_numbers_alone_join_too() -> None:
    joined = join_recordings([Recording(peak=800.0), Recording(peak=806.0)])
    assert (joined.highest, joined.is_series) == (806.0, False)


def test_one_part_is_itself_and_none_is_an_error() -> None:
    alone = part(0, 20, 25)
    assert join_recordings([alone]) is alone
    with pytest.raises(ValueError, match="nothing to join"):
        join_recordings([])
