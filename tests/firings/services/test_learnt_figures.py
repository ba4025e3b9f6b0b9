"""What is kept and shown of a learnt response: ranges, full power as seen, drift, foretelling."""

import numpy as np
import pytest

from firings.services.drift_evidence import JudgedFiring, judged_peaks
from firings.services.foretelling import foretells_as_well
from firings.services.full_power import SeenFullPower, seen_full_power
from firings.services.kiln_learning import learn_response
from firings.services.learnt_figures import learnt_figures
from firings.services.recording import Recording
from schedules.services.curve import Curve, Segment, planned_curve
from studio.services.kiln_response import KilnResponse

TRUE = KilnResponse(1100.0, 7200.0, 9000.0, slow_cooling_time_constant=18000.0)
PRIOR = KilnResponse(1250.0, 5000.0, 12000.0, slow_cooling_time_constant=24000.0)
STEEP = [Segment(None, 800.0, 600.0)]
GENTLE = [Segment(60.0, 800.0, 600.0), Segment(30.0, 60.0, 0.0)]


def followed(plan: Curve, until: float) -> Recording:
    times = np.arange(0.0, until, 30.0)
    return Recording(times, plan.at(times))


def test_figures_that_no_recording_shows_are_not_called_told() -> None:
    assert not any(each.told for each in learnt_figures(learn_response([], [], PRIOR)))


def test_figures_that_recordings_show_lie_within_their_range() -> None:
    plan = planned_curve(STEEP, TRUE)
    recordings = [followed(plan, 60000.0)] * 4
    learnt = learn_response(recordings, [planned_curve(STEEP, PRIOR)] * 4, PRIOR)
    figures = {each.name: each for each in learnt_figures(learnt)}
    for name, true in (("rise_at_700", 200.0), ("cooling", 9000.0), ("slow_cooling", 18000.0)):
        assert figures[name].told
        assert figures[name].low < true < figures[name].high
    wide = {each.name: each for each in learnt_figures(learnt, coverage=0.99)}
    assert wide["rise_at_700"].high > figures["rise_at_700"].high


def test_figures_want_a_learnt_response() -> None:
    with pytest.raises(ValueError, match="not learnt"):
        learnt_figures(TRUE)


def test_full_power_is_seen_only_where_the_kiln_was_at_it() -> None:
    plan = planned_curve(STEEP, TRUE)
    seen = seen_full_power(followed(plan, 40000.0), plan, TRUE)
    assert seen is not None
    # The true law at the same temperature: (1100 − T) / 7200 s.
    assert seen.rate == pytest.approx((1100.0 - seen.temperature) / 2.0, rel=0.01)
    gentle = planned_curve(GENTLE, TRUE)
    assert seen_full_power(followed(gentle, 120000.0), gentle, TRUE) is None
    assert seen_full_power(Recording(peak=800.0), plan, TRUE) is None


def test_the_rise_of_one_firing_tells_a_weaker_kiln() -> None:
    weak = KilnResponse(1100.0, 7200.0 / 0.86, 9000.0)
    plan = planned_curve(STEEP, TRUE)
    usual = seen_full_power(followed(plan, 40000.0), plan, TRUE)
    aged = seen_full_power(followed(planned_curve(STEEP, weak), 40000.0), plan, TRUE)
    assert usual is not None
    assert aged is not None
    rises = [each.rise_at(700.0, TRUE) for each in (usual, aged)]
    assert rises == [pytest.approx(200.0, rel=0.01), pytest.approx(172.0, rel=0.01)]


def test_a_firing_hotter_than_the_response_allows_tells_no_rise() -> None:
    assert SeenFullPower(1090.0, 20.0).rise_at(700.0, TRUE) is None


def test_firings_of_schedules_of_another_need_are_put_on_one_scale() -> None:
    runs = [JudgedFiring(float(day), "slump", 1e-9, 0.0) for day in range(3)]
    runs += [JudgedFiring(float(day), "full fuse", 1e-6, 0.0) for day in range(3)]
    runs += [JudgedFiring(9.0, "seen twice", 1.0, 2.0)] * 2
    assert [each.peak_difference for each in judged_peaks(runs)] == [0.0] * 6


def test_a_hotter_verdict_for_more_heat_work_is_no_drift() -> None:
    # One step of verdict is 1/3.92 of an e-fold: 28 °C × that = 7.1 °C.
    runs = [JudgedFiring(0.0, 1, np.exp(step / 3.92), float(step)) for step in (-1, 0, 1)]
    differences = [each.peak_difference for each in judged_peaks(runs)]
    assert differences == pytest.approx([-7.14, 0.0, 7.14], abs=0.01)


def test_nothing_to_foretell_speaks_against_nothing() -> None:
    assert foretells_as_well([None], [planned_curve(STEEP, PRIOR)], TRUE)


def test_a_response_that_cannot_do_what_was_done_foretells_worse() -> None:
    weak = KilnResponse(790.0, 7200.0, 9000.0)
    assert not foretells_as_well([20000.0], [planned_curve(STEEP, PRIOR)], weak)
