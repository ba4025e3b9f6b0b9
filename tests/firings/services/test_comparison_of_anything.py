"""Whatever a logger wrote, holding it against a plan gives an answer, and learning from it too."""

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from firings.services.comparison import compare
from firings.services.energy import recorded_energy
from firings.services.kiln_learning import learn_response
from firings.services.recording import Recording
from firings.services.wall_learning import learn_walls
from schedules.services.curve import Segment, planned_curve
from schedules.services.predicting import predict_time
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1100.0, 7000.0, 9000.0, slow_cooling_time_constant=18000.0)

segments = st.lists(
    st.builds(
        Segment,
        st.one_of(st.none(), st.floats(5.0, 900.0)),
        st.floats(25.0, 1150.0),
        st.floats(1.0, 20000.0),
    ),
    min_size=1,
    max_size=8,
)


@st.composite
def series(draw):
    """Corners at random, with noise, missing values, repeated moments and pauses."""
    corners = draw(st.integers(1, 10))
    at = np.cumsum(
        [0.0, *draw(st.lists(st.floats(0.0, 9000.0), min_size=corners, max_size=corners))]
    )
    heights = draw(st.lists(st.floats(-50.0, 1300.0), min_size=corners + 1, max_size=corners + 1))
    step = draw(st.sampled_from([1.0, 10.0, 30.0, 60.0, 300.0, 1800.0]))
    times = np.arange(0.0, min(at[-1], 2000 * step) + step, step)
    rng = np.random.default_rng(draw(st.integers(0, 99)))
    noise = draw(st.sampled_from([0.0, 0.3, 1.0, 20.0]))
    shown = np.interp(times, at, heights) + rng.normal(0.0, noise, times.size)
    shown[rng.random(times.size) < draw(st.sampled_from([0.0, 0.05, 0.6]))] = np.nan
    kept = rng.random(times.size) >= draw(st.sampled_from([0.0, 0.3]))
    if draw(st.booleans()):
        times = np.round(times / 60.0) * 60.0
    if draw(st.booleans()):
        times = np.where(times > times[-1] / 2, times + 5000.0, times)
    return Recording(times[kept], shown[kept])


@settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(segments, series())
def test_any_series_is_held_against_any_plan(planned, recording):
    plan = planned_curve(planned, KILN)
    seen = compare(plan, recording)
    assert len(seen.segments) == len(planned)
    for one in seen.segments:
        marks = [mark for mark in (one.start, one.hold_start, one.end) if mark is not None]
        assert marks == sorted(marks)
        assert all(np.isfinite(mark) for mark in marks)
        for figure in (one.rate_achieved, one.overshoot, one.hold_achieved, one.mean):
            assert figure is None or np.isfinite(figure)
        assert (one.overshoot or 0.0) >= 0
        assert (one.hold_achieved or 0.0) >= 0
    found = [one for one in seen.segments if one.end is not None]
    ends = [one.end for one in found]
    assert ends == sorted(ends)
    for one in found:
        assert recording.times[0] <= one.end <= recording.times[-1]


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(segments, series()), max_size=3))
def test_any_series_teach_a_kiln_that_can_be(pairs):
    plans = [planned_curve(planned, KILN) for planned, _ in pairs]
    learnt = learn_response([recording for _, recording in pairs], plans, KILN)
    assert np.all(np.isfinite(learnt.covariance))
    assert np.all(np.linalg.eigvalsh(learnt.covariance) >= -1e-6)
    assert learnt.rise_at(700.0) > 0
    seen = predict_time([Segment(100.0, 500.0, 600.0)], learnt, 100.0)
    assert seen is not None
    assert 0 < seen.earliest < seen.expected < seen.latest


@settings(deadline=None, max_examples=30, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(segments, series()), max_size=3))
def test_any_series_teach_walls_that_can_be(pairs):
    recordings = [recording for _, recording in pairs]
    walls = learn_walls(recordings, [planned_curve(planned, KILN) for planned, _ in pairs], KILN)
    assert all(np.isfinite(figure) and figure > 0 for figure in vars(walls).values())
    for each in recordings:
        if np.count_nonzero(np.isfinite(each.temperatures)) < 2 or np.any(np.diff(each.times) <= 0):
            continue  # `recorded_energy` refuses these
        use = recorded_energy(each.times, each.temperatures, KILN, 6.0, walls=walls)
        assert 0 <= use.least <= use.kwh <= use.most < np.inf
