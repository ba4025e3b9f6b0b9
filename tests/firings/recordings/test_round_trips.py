"""A random series, written in a random shape, is read back.

The elapsed times and the temperatures always; the moment of the start where the file decides it,
else a remark says what was assumed.
"""

import datetime as dt
from io import BytesIO

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from firings.services.recording import ReadingChoices, read_recording
from tests.firings.recordings.writing import DATES, TIMES, ZONE, FileShape, Series, write

NO_DAY = {"clock", "elapsed s", "elapsed min", "elapsed h", "elapsed h:mm:ss"}
AMBIGUOUS = {"dotted", "short dotted", "day first", "month first", "short month first"}
PLACES = {"elapsed s": 0.1, "elapsed min": 0.01, "elapsed h": 0.01}
PUBLISHED_CHANGES = [dt.date(2026, 3, 29), dt.date(2026, 10, 25)]
"""Days on which the clocks change in Lisbon (Directive 2000/84/EC: last Sundays)."""


@st.composite
def series(draw: st.DrawFn) -> Series:
    """A firing of any course, sampled evenly or not, that may pass midnight or a clock change."""
    step = draw(st.sampled_from([1.0, 5.0, 30.0, 60.0, 120.0]))
    count = draw(st.integers(60, 400))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    peak = draw(st.floats(520.0, 900.0))
    room = draw(st.floats(12.0, 34.0))
    places = np.sort(rng.uniform(0.0, 1.0, 4))
    course = np.interp(
        np.linspace(0.0, 1.0, count),
        [0.0, *places, 1.0],
        [room, *rng.uniform(room, peak, 2), peak, peak * 0.9, rng.uniform(room + 5.0, peak)],
    )
    times = np.arange(count) * step
    if draw(st.booleans()):  # readings were missed now and then
        kept = rng.uniform(size=count) > 0.1
        kept[[0, -1]] = True
        times, course = times[kept], course[kept]
    day = draw(
        st.one_of(
            st.sampled_from(PUBLISHED_CHANGES),
            st.dates(dt.date(2000, 1, 2), dt.date(2068, 12, 30)),
        )
    )
    seconds = draw(st.integers(0, 86_399))
    start = dt.datetime.combine(day, dt.time()) + dt.timedelta(seconds=seconds)
    local = start.replace(tzinfo=ZONE)
    if local.astimezone(dt.UTC).astimezone(ZONE).replace(tzinfo=None) != start:
        start += dt.timedelta(hours=2)  # an hour that the clocks leave out
    return Series(times, np.round(course + rng.normal(0.0, 0.3, times.size), 1), start)


@st.composite
def shapes(draw: st.DrawFn) -> FileShape:
    time = draw(st.sampled_from(TIMES))
    decimal = draw(st.sampled_from([".", ","]))
    delimiter = draw(st.sampled_from([";", "\t", "|", ","]))
    clock = draw(st.sampled_from(["24 h", "12 h"]))
    workbook = draw(st.booleans()) and draw(st.booleans())
    return FileShape(
        time=time,
        date=draw(st.sampled_from(sorted(DATES))),
        clock=clock,
        columns=2 if time == "moment" and draw(st.booleans()) else 1,
        delimiter=delimiter,
        decimal=decimal,
        unit=draw(st.sampled_from(["C", "F"])),
        unit_at=draw(st.sampled_from(["name", "cells", "column"])),
        names=True,
        notes=draw(st.sampled_from([(), ("# Logger 2", ""), ("Logger 2", "east kiln, shelf 1")])),
        index=draw(st.booleans()),
        others=draw(st.booleans()),
        encoding=draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-be", "latin-1"])),
        line_end=draw(st.sampled_from(["\n", "\r\n", "\r"])),
        quoted=draw(st.booleans()),
        blank_lines=draw(st.booleans()),
        workbook=workbook,
    )


def moment(written: Series) -> dt.datetime:
    return written.start.replace(tzinfo=ZONE).astimezone(dt.UTC)


def begins_in_an_hour_that_comes_twice(written: Series) -> bool:
    offsets = {written.start.replace(tzinfo=ZONE, fold=fold).utcoffset() for fold in (0, 1)}
    return len(offsets) > 1


def crosses_a_change(written: Series) -> bool:
    offsets = {moment.replace(tzinfo=ZONE).utcoffset() for moment in written.moments()}
    return len(offsets) > 1


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(series(), shapes())
def test_what_was_written_is_read(written: Series, shape: FileShape) -> None:
    read_back(written, shape)


@pytest.mark.slow
@settings(max_examples=3000, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(series(), shapes())
def test_what_was_written_is_read_many_times(written: Series, shape: FileShape) -> None:
    read_back(written, shape)


def read_back(written: Series, shape: FileShape) -> None:
    dateless = shape.time == "clock" and crosses_a_change(written)
    # an hour left out of times of day is no different from an hour without readings
    choices = ReadingChoices(starts_on=written.start.date() if dateless else None)
    seen = read_recording(BytesIO(write(written, shape)), timezone=ZONE, choices=choices)
    codes = {remark.code for remark in seen.remarks}
    if "clock_not_changed" in codes or "hour_twice_assumed" in codes:
        # only where the clocks change, and then said: the file does not tell two hours apart
        assert crosses_a_change(written) or begins_in_an_hour_that_comes_twice(written)
        return
    assert seen.times == pytest.approx(written.times, abs=PLACES.get(shape.time, 2e-3))
    assert np.abs(seen.temperatures - written.temperatures).max() <= 0.0501
    if shape.time in NO_DAY and not dateless:
        assert seen.started_at is None
        assert "no_date" in codes
    elif seen.started_at != moment(written):
        assert shape.date in AMBIGUOUS
        assert "date_order_assumed" in codes


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(series(), st.sampled_from(sorted(AMBIGUOUS)))
def test_chosen_order_of_the_date_always_decides(written: Series, date: str) -> None:
    choices = ReadingChoices(date_order="month first" if "month" in date else "day first")
    file = write(written, FileShape(date=date))
    seen = read_recording(BytesIO(file), timezone=ZONE, choices=choices)
    if not begins_in_an_hour_that_comes_twice(written):
        assert seen.started_at == moment(written)
    assert not {code for code in (r.code for r in seen.remarks) if code.startswith("date_order")}
