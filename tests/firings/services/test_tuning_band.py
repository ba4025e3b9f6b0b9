import numpy as np
import pytest

from firings.services.advice import PastFiring, Situation, StepLimits, advise
from firings.services.top import GlassTerms
from firings.services.tuning_band import judgement_quantiles, posterior
from firings.services.verdict_model import Doubt, Judgement, infer
from firings.services.what_if import what_ifs
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1150.0, 7000.0, 11000.0)


def schedule(peak=804.0, hold=600.0):
    return [Segment(300.0, peak, hold), Segment(None, 510.0, 3600.0)]


def situation(peak=804.0, **overrides):
    return Situation(schedule(peak), KILN, Glass(), "A", **overrides)


def fired(verdict, peak=804.0, kiln="A", **overrides):
    work = planned_curve(schedule(peak), KILN).heat_work(Glass())
    return PastFiring(kiln, work, 0.1, verdict, **overrides)


def test_points_lie_at_the_peaks_that_were_fired():
    band = posterior([fired(-1, 798.0, firing=1), fired(0, firing=2)], situation(offset=5.0))
    assert [point.peak for point in band.points] == pytest.approx([798.0, 804.0], abs=0.05)
    assert [point.firing for point in band.points] == [1, 2]
    assert band.own_peak == 804.0


def test_points_and_the_notes_rests_on_weigh_alike():
    past = [fired(-1, kiln="B", firing=1), fired(-1, firing=2)]
    band = posterior(past, situation())
    note = advise(past, situation(), StepLimits())
    assert {p.firing: p.weight for p in band.points} == {r.firing: r.weight for r in note.rests_on}
    assert [point.here for point in band.points] == [False, True]


def test_what_is_wanted_is_what_the_note_finds_missing():
    past = [fired(-2, firing=1)]
    band, note = posterior(past, situation()), advise(past, situation(), StepLimits())
    assert band.wanted - GlassTerms(situation()).own == pytest.approx(
        note.missing * GlassTerms(situation()).per_degree
    )
    assert band.peak_doubt == pytest.approx(note.missing_doubt)


def test_chances_along_the_band_are_those_of_a_what_if():
    past = [fired(-1), fired(1, 815.0)]
    band = posterior(past, situation())
    changes = [(peak - 804.0, 0.0) for peak in band.peaks.tolist()]
    told = what_ifs(past, situation(), StepLimits(), changes)
    assert np.array([one.chances for one in told]) == pytest.approx(band.chances, abs=1e-3)


def test_the_band_rises_and_crosses_nought_where_the_schedule_is_wanted():
    band = posterior([fired(-1), fired(0, 808.0), fired(1, 815.0)], situation())
    assert np.all(np.diff(band.middle) > 0)
    assert np.all(band.low <= band.middle)
    assert np.all(band.middle <= band.high)
    assert np.interp(0.0, band.middle, band.ln_heat_work) == pytest.approx(band.wanted, abs=0.03)


def test_more_firings_make_the_band_narrower():
    few, many = (posterior([fired(0)] * count, situation()) for count in (1, 10))
    middle = few.peaks.size // 2
    assert many.high[middle] - many.low[middle] < few.high[middle] - few.low[middle]


def test_the_grid_holds_every_firing_up_to_its_end():
    band = posterior([fired(-2, 770.0), fired(0)], situation())
    assert band.peaks[0] < 770.0
    assert band.peaks[-1] > 834.0
    assert np.all(np.diff(band.ln_heat_work) > 0)


def test_quantiles_agree_with_a_known_slope():
    """With one slope the judgement is a shift of W*: its quantiles are the slope times those."""
    beliefs = infer(
        [Judgement(0.0, 0.1, -1, "A")],
        0.0,
        Doubt(0.4, 0.3, 0.1),
        "A",
        slopes=np.array([4.0]),
        noises=np.array([0.4]),
    )
    (middle,) = judgement_quantiles(beliefs, np.array([0.2]), [0.5])
    each = beliefs.probability.sum(axis=(1, 2))
    median = np.interp(0.5, np.cumsum(each) - each / 2, beliefs.targets)
    assert middle[0] == pytest.approx(4 * (0.2 - median), abs=1e-6)


@pytest.mark.parametrize("process", ["anneal_only", "metal_clay"])
def test_no_band_where_heat_work_says_nothing(process):
    assert posterior([fired(0)], situation(process=process)) is None


def test_no_band_for_a_top_out_of_reach():
    assert posterior([], situation(1200.0)) is None
