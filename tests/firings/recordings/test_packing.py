import datetime as dt
from io import BytesIO

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firings.services.recording import Recording, RecordingRemark
from firings.services.recording.packing import pack, unpack

STEPS = st.floats(0.001, 5000.0)
READINGS = st.one_of(st.floats(-40.0, 1350.0), st.just(float("nan")))


@given(st.lists(st.tuples(STEPS, READINGS), max_size=60), st.floats(0.0, 1e6))
def test_series_comes_back_to_the_millisecond_and_the_thousandth(
    rows: list[tuple[float, float]], first: float
) -> None:
    times = first + np.cumsum([step for step, _ in rows])
    temperatures = np.array([value for _, value in rows])
    back = unpack(pack(Recording(times, temperatures)))
    assert back.times == pytest.approx(times, abs=0.0005001)
    assert back.temperatures == pytest.approx(temperatures, abs=0.0005001, nan_ok=True)


@given(st.lists(st.decimals(-40, 1350, places=3), min_size=1, max_size=60))
def test_what_a_logger_writes_comes_back_exactly(values) -> None:
    temperatures = np.array([float(value) for value in values])
    back = unpack(pack(Recording(np.arange(float(temperatures.size)), temperatures)))
    assert back.temperatures.tolist() == temperatures.tolist()


def test_everything_else_comes_back_too() -> None:
    recording = Recording(
        [0.0, 30.0, 3630.0],
        [20.0, np.nan, 480.0],
        dt.datetime(2026, 3, 12, 17, 40, tzinfo=dt.UTC),
        gaps=[(30.0, 3630.0)],
        remarks=[RecordingRemark("lines_dropped", {"count": 2.0, "text": "µ;°"})],
        peak=806.0,
        duration=3630.0,
        hold=600.0,
    )
    back = unpack(pack(recording))
    assert back.started_at == recording.started_at
    assert back.gaps == ((30.0, 3630.0),)
    assert back.remarks == (RecordingRemark("lines_dropped", {"count": 2.0, "text": "µ;°"}),)
    assert (back.peak, back.duration, back.hold) == (806.0, 3630.0, 600.0)


def test_recording_without_a_series_comes_back() -> None:
    back = unpack(pack(Recording(peak=800.0)))
    assert (back.is_series, back.highest) == (False, 800.0)


def test_no_temperature_is_that_high() -> None:
    with pytest.raises(ValueError, match="is no temperature"):
        pack(Recording([0.0], [1e9]))


def test_anything_else_is_refused() -> None:
    packed = pack(Recording([0.0, 30.0], [20.0, 21.0]))
    objects = BytesIO()
    np.savez(objects, times=np.array([{"a": 1}], dtype=object))
    for other in (b"", b"PK", packed[:-40], packed[: len(packed) // 2], objects.getvalue()):
        with pytest.raises(ValueError, match=r"packed|pickle"):
            unpack(other)
