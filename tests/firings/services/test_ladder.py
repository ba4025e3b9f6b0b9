"""Which ladder is suggested. Widths are those of the project's own model of verdicts."""

from dataclasses import replace

import numpy as np
import pytest

from firings.services.evidence import PastFiring, Situation, StepLimits
from firings.services.ladder import LadderSpan, suggest_holds, suggest_peaks, verdict_width
from firings.services.verdict_model import Doubt, infer
from firings.services.weighing import weigh
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

FUSE = (Segment(200.0, 804.0, 1200.0), Segment(None, 510.0, 3600.0))
HERE = Situation(FUSE, KilnResponse(1100.0, 7200.0, 10800.0), Glass(), "A")
LIMITS = StepLimits()


def judged(peak, verdict):
    segments = (replace(FUSE[0], target=peak), FUSE[1])
    return PastFiring("A", planned_curve(segments, HERE.response).heat_work(Glass()), 0.05, verdict)


def test_a_verdict_is_as_wide_as_one_over_the_slope():
    known = infer([], 0.0, Doubt(0.4, 0.3, 0.1), "A", slopes=np.array([5.0]))
    assert verdict_width(known) == pytest.approx(0.2)


def test_rungs_lie_a_verdict_apart_around_the_schedule_where_nothing_is_judged():
    history = weigh([], HERE)
    span = suggest_peaks(history, LIMITS, 4)
    width = verdict_width(history.beliefs) / history.terms.per_degree
    assert span.step == pytest.approx(width, abs=0.5)
    assert np.mean(span.values) == pytest.approx(804.0, abs=1.0)


def test_a_ladder_lies_around_what_the_verdicts_say_is_wanted():
    short = suggest_peaks(weigh([judged(804.0, -2)], HERE), LIMITS)
    assert np.mean(short.values) > 810.0


def test_what_verdicts_say_of_their_width_moves_the_step():
    steep = [judged(804.0 + away, away // 3) for away in (-6, -3, 0, 3, 6)] * 4
    flat = [judged(804.0 + away, away // 12) for away in (-24, -12, 0, 12, 24)] * 4
    steps = [suggest_peaks(weigh(past, HERE), LIMITS).step for past in (steep, [], flat)]
    assert steps == sorted(steps)
    assert steps[0] < steps[-1]


def test_a_step_is_never_less_than_the_kiln_repeats_to():
    loose = replace(HERE, repeatability=11.5)
    assert suggest_peaks(weigh([], loose), LIMITS).step == 12.0


def test_a_step_is_one_that_the_controller_takes():
    span = suggest_peaks(weigh([], HERE), replace(LIMITS, peak_resolution=5.0))
    assert span.step == 5.0
    assert [(value - 804.0) % 5.0 for value in span.values] == pytest.approx([0.0] * 4)


def test_a_ladder_ends_where_the_kiln_ends():
    span = suggest_peaks(weigh([], HERE), replace(LIMITS, max_temperature=806.0))
    assert span.values[-1] == 806.0


def test_a_ladder_ends_where_the_process_ends():
    tack = replace(HERE, process="tack_fuse", process_range=(800.0, 900.0))
    assert suggest_peaks(weigh([], tack), LIMITS).values[0] == 800.0


def test_a_ladder_that_fits_nowhere_is_told_as_it_would_be():
    nowhere = replace(HERE, process="tack_fuse", process_range=(803.0, 805.0))
    assert suggest_peaks(weigh([], nowhere), LIMITS) == suggest_peaks(weigh([], HERE), LIMITS)


def test_holds_lie_a_verdict_apart_and_are_never_negative():
    history = weigh([], HERE)
    span = suggest_holds(history, LIMITS, 4)
    worth = np.diff(history.terms.of_top(804.0, np.array(span.values)))
    assert worth.max() > verdict_width(history.beliefs) > worth.min()
    assert suggest_holds(history, LIMITS, 12).values[0] == 0.0


@pytest.mark.parametrize("count", [1, 13])
def test_a_ladder_of_one_or_of_thirteen_is_refused(count):
    with pytest.raises(ValueError, match="2 to 12 rungs"):
        suggest_peaks(weigh([], HERE), LIMITS, count)
    with pytest.raises(ValueError, match="2 to 12 rungs"):
        suggest_holds(weigh([], HERE), LIMITS, count)


def test_values_run_from_the_first_up():
    assert LadderSpan(780.0, 6.0, 3).values == (780.0, 786.0, 792.0)
