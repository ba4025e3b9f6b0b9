import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firings.services.evidence import Situation
from firings.services.top import GlassTerms, TopHeatWork, find_top, with_steeper_viscosity, with_top
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1150.0, 7000.0, 11000.0)
SEGMENTS = [
    Segment(200.0, 620.0, 1800.0),
    Segment(300.0, 804.0, 600.0),
    Segment(None, 510.0, 3600.0),
]


def exact(peak, hold):
    return np.log(planned_curve(with_top(SEGMENTS, peak, hold), KILN).heat_work(Glass()))


def test_the_top_is_the_highest_target_and_of_equals_the_last():
    split = [Segment(200.0, 804.0, 300.0), Segment(200.0, 804.0, 300.0), Segment(None, 510.0)]
    assert find_top(split).index == 1
    assert find_top(split).floor > 804.0


def test_with_top_touches_nothing_else():
    changed = with_top(SEGMENTS, 810.0, 900.0)
    assert changed[0] is SEGMENTS[0]
    assert changed[2] is SEGMENTS[2]
    assert changed[1] == Segment(300.0, 810.0, 900.0)


@settings(deadline=None)
@given(st.floats(750.0, 860.0), st.floats(0.0, 7200.0))
def test_heat_work_of_a_changed_top_is_that_of_its_curve(peak, hold):
    table = TopHeatWork(SEGMENTS, KILN, Glass())
    assert float(table.ln_heat_work(peak, hold)) == pytest.approx(exact(peak, hold), abs=2e-4)


@settings(deadline=None)
@given(st.floats(745.0, 863.0))
def test_peak_for_undoes_ln_heat_work(peak):
    table = TopHeatWork(SEGMENTS, KILN, Glass())
    assert float(table.peak_for(table.ln_heat_work(peak))) == pytest.approx(peak, abs=1e-3)


def test_beyond_the_table_heat_work_goes_on_rising():
    table = TopHeatWork(SEGMENTS, KILN, Glass())
    values = table.ln_heat_work([600.0, 740.0, 804.0, 870.0, 1000.0])
    assert np.all(np.diff(values) > 0)
    assert table.peak_for(values) == pytest.approx([600.0, 740.0, 804.0, 870.0, 1000.0], abs=1e-3)


def test_a_last_cooling_to_the_room_is_no_obstacle():
    table = TopHeatWork([*SEGMENTS, Segment(None, 20.0)], KILN, Glass())
    assert float(table.ln_heat_work(804.0)) == pytest.approx(exact(804.0, 600.0), abs=1e-4)


def test_a_top_out_of_reach_is_refused():
    table = TopHeatWork([Segment(200.0, 1200.0)], KILN, Glass())
    with pytest.raises(ValueError, match="does not reach"):
        table.ln_heat_work(1200.0)


def test_offset_raises_what_the_glass_feels():
    warm = GlassTerms(Situation(SEGMENTS, KILN, Glass(), "A", offset=12.0))
    even = GlassTerms(Situation(SEGMENTS, KILN, Glass(), "A"))
    # 12 °C at about 0.034 a degree
    assert warm.own - even.own == pytest.approx(12 * even.per_degree, rel=0.05)


def test_equal_heat_work_lies_near_the_rule_of_the_trade():
    """10 °C lower, 10 minutes more (common practice, no source): within a factor of 1.5."""
    cooler = TopHeatWork(with_top(SEGMENTS, 794.0, 600.0), KILN, Glass())
    longer = cooler.hold_alone(804.0, 600.0) - 600.0
    assert 600.0 / 1.5 < longer < 600.0 * 1.5


@settings(deadline=None)
@given(st.floats(770.0, 840.0), st.floats(0.0, 3600.0))
def test_peak_for_a_known_hold_undoes_ln_heat_work(peak, hold):
    table = TopHeatWork(SEGMENTS, KILN, Glass())
    work = table.ln_heat_work(peak, hold)
    assert float(table.peak_for(work, hold)) == pytest.approx(peak, abs=5e-3)


def test_a_heat_work_of_a_known_hold_is_carried_exactly():
    warm = GlassTerms(Situation(SEGMENTS, KILN, Glass(), "A", offset=12.0))
    done = planned_curve(with_top(SEGMENTS, 790.0, 2400.0), KILN).heat_work(Glass())
    carried = float(warm.of_display([done], [12.0], [2400.0])[0])
    assert carried == pytest.approx(float(warm.of_top(790.0, 2400.0)), abs=1e-4)


def test_a_steeper_viscosity_is_steeper_by_its_factor():
    law, steep = Glass().viscosity_law, with_steeper_viscosity(Glass(), 1.3, 804.0).viscosity_law
    assert steep.slope / law.slope == pytest.approx(1.3)
    assert steep.pole == pytest.approx(law.pole, abs=1e-6)


def test_an_exchange_factor_makes_a_degree_worth_more():
    plain, steep = (GlassTerms(Situation(SEGMENTS, KILN, Glass(), "A"), k) for k in (1.0, 1.2))
    assert steep.per_degree / plain.per_degree == pytest.approx(1.2, rel=0.02)
