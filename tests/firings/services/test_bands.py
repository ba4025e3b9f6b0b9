import numpy as np
import pytest

from firings.services.bands import bands, fastest_cooling
from firings.services.readings import Readings
from firings.services.recording import Recording
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1250.0, 5000.0, 9000.0)
GLASS = Glass(strain_point=500.0, annealing_point=540.0)


def plan(cooling=55.0):
    return planned_curve(
        [Segment(200.0, 804.0, 600.0), Segment(300.0, 540.0, 3600.0), Segment(cooling, 427.0)], KILN
    )


def recorded(curve, noise=1.0, gaps=(), nan=None):
    times = np.arange(0.0, curve.duration, 30.0)
    shown = curve.at(times) + np.random.default_rng(0).normal(0.0, noise, times.size)
    if nan is not None:
        shown[(times > nan[0]) & (times < nan[1])] = np.nan
    return Readings.of(Recording(times, shown, gaps=gaps))


def by_name(found):
    return {band.name: band for band in found}


def test_noise_adds_no_time_to_a_band():
    curve = plan()
    for band in bands(curve, recorded(curve), Glass(), "full_fuse"):
        assert band.recorded == pytest.approx(band.planned, rel=0.03, abs=90.0)


def test_the_process_band_is_the_trades_or_about_the_top():
    assert by_name(bands(plan(), None, GLASS, "full_fuse"))["process"].low == 790.0
    about = by_name(bands(plan(), None, GLASS))["process"]
    assert (about.low, about.high) == (789.0, 819.0)
    assert about.recorded is None


def test_a_gap_counts_in_no_band():
    curve = plan()
    top = curve.spans[0]
    # All of the hold at the top is missing.
    gap = (top.hold_start, top.hold_end)
    found = by_name(bands(curve, recorded(curve, nan=gap), GLASS))["process"]
    assert found.planned - found.recorded == pytest.approx(600.0, abs=90.0)


def test_the_fastest_cooling_is_that_after_the_soak_where_it_is_the_fastest():
    seen = fastest_cooling(plan(), recorded(plan(83.0)), GLASS)
    # Down to 540 °C it fell at 300 °C/h, but the range ends there.
    assert seen.planned == pytest.approx(55.0, abs=0.5)
    assert seen.recorded == pytest.approx(83.0, rel=0.03)


def test_noise_alone_is_no_cooling_rate():
    curve = plan(15.0)
    assert fastest_cooling(curve, recorded(curve), GLASS).recorded == pytest.approx(15.0, abs=3.0)


def test_a_range_that_was_not_cooled_through_has_no_rate():
    curve = planned_curve([Segment(200.0, 400.0, 600.0)], KILN)
    seen = fastest_cooling(curve, recorded(curve), GLASS)
    assert seen.planned is None
    assert seen.recorded is None
