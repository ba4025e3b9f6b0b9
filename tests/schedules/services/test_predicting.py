"""When a firing ends or its kiln is cool, and how sure that is."""

from math import exp

import numpy as np
import pytest
from scipy.stats import norm

from schedules.services.curve import Segment, planned_curve
from schedules.services.predicting import CONTROL, predict_time
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1080.0, 6500.0, 8000.0, slow_cooling_time_constant=17000.0)
STEEP = [Segment(None, 900.0, 600.0)]


@pytest.mark.parametrize(("target", "open_at"), [(1200.0, 100.0), (800.0, 15.0)])
def test_what_never_happens_has_no_time(target: float, open_at: float) -> None:
    assert predict_time([Segment(None, target, 0.0)], KILN, open_at) is None


def test_the_end_of_the_last_segment_is_predicted_too() -> None:
    seen = predict_time(STEEP, KILN)
    assert seen is not None
    assert seen.expected == planned_curve(STEEP, KILN).duration
    assert seen.earliest < seen.expected < seen.latest


def test_without_a_covariance_the_range_is_the_controllers_alone() -> None:
    seen = predict_time(STEEP, KILN, 60.0)
    assert seen is not None
    reach = float(norm.ppf(0.95)) * CONTROL
    assert seen.latest / seen.expected == pytest.approx(exp(reach))
    assert seen.earliest / seen.expected == pytest.approx(exp(-reach))


def test_nine_of_ten_such_kilns_lie_within_the_range() -> None:
    """Against kilns drawn with the stated covariance: no formula of the module's own."""
    spread = np.diag([8.0**2, 15.0**2, 500.0**2, 1200.0**2])
    kiln = KilnResponse(
        1080.0, 6500.0, 8000.0, slow_cooling_time_constant=17000.0, covariance=spread
    )
    seen = predict_time(STEEP, kiln, 60.0)
    assert seen is not None
    rng = np.random.default_rng(5)
    rise = (1080.0 - 700.0) / 6500.0
    times = []
    for by in rng.multivariate_normal(np.zeros(4), spread, 2000):
        limit = 1080.0 + by[1]
        drawn = KilnResponse(
            limit,
            (limit - 700.0) / (rise + by[0] / 3600.0),
            8000.0 + by[2],
            slow_cooling_time_constant=17000.0 + by[3],
        )
        times.append(planned_curve(STEEP, drawn).cool_to(60.0) or 0.0)
    inside = np.mean((seen.earliest < np.array(times)) & (np.array(times) < seen.latest))
    # Of 2,000 draws 0.9 lies within 0.02 at three standard deviations; the controller's own part
    # makes the range a little wider than that of the response alone.
    assert 0.88 < inside < 0.94
