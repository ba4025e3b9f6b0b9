from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.services.curve import Segment
from schedules.services.writing import Rounding, WrittenSegment, carry, rewritten, to_core
from studio.services.units import rate_to_celsius


def written(rate, target, hold=0):
    return WrittenSegment(
        None if rate is None else Decimal(str(rate)), Decimal(str(target)), Decimal(str(hold))
    )


degrees = st.integers(30, 1200).map(Decimal)
rates = st.none() | st.integers(1, 1000).map(Decimal)
schedules = st.lists(
    st.builds(WrittenSegment, rates, degrees, st.integers(0, 600).map(Decimal)), max_size=8
)


@pytest.mark.parametrize(
    ("rate", "target", "keyed_rate", "keyed_target"),
    [
        (300, 1480, "167", "804"),  # a rate taken for a temperature would be 149
        (50, 1250, "28", "677"),  # 10 as a temperature
        (None, 960, None, "516"),
        (600, 36.5, "333", "3"),  # exactly 2.5 °C: halves go up
    ],
)
def test_fahrenheit_is_carried_to_whole_celsius(rate, target, keyed_rate, keyed_target):
    [carried] = carry([written(rate, target, 10)], "F", "C")
    assert str(carried.keyed.rate) == str(keyed_rate)
    assert str(carried.keyed.target) == keyed_target
    assert carried.keyed.hold_minutes == 10
    assert carried.written == written(rate, target, 10)


def test_each_rounding_is_told():
    [carried] = carry([written(300, 1480)], "F", "C")
    rate, target = carried.roundings
    assert (rate.field, rate.exact, rate.keyed) == ("rate", Decimal("166.666666667"), 167)
    assert rate.difference == Decimal("0.333333333")
    assert (target.field, target.difference) == ("target", Decimal("-0.444444444"))


def test_what_fits_is_not_called_rounded():
    [carried] = carry([written(180, 212)], "F", "C")
    assert carried.keyed == written(100, 100)
    assert carried.roundings == ()


def test_change_of_resolution_alone_keeps_every_digit_that_fits():
    [carried] = carry([written("6.7", "482.25")], "C", "C", Decimal("0.1"))
    assert carried.keyed == written("6.7", "482.3")
    assert carried.roundings == (Rounding("target", Decimal("482.25"), Decimal("482.3")),)


@pytest.mark.parametrize(
    ("resolution", "keyed"),
    [(5, "805"), (5.0, "805"), ("1.00", "804"), ("0.5", "804.5"), (10, "800")],
)
def test_keyed_number_has_no_more_decimals_than_the_step(resolution, keyed):
    [carried] = carry([written(None, 1480)], "F", "C", resolution)
    assert str(carried.keyed.target) == keyed


def test_slow_rate_never_becomes_no_rate():
    [carried] = carry([written("0.24", 427)], "C", "C", 1)
    assert carried.keyed.rate == 1
    assert carried.roundings[0].difference == Decimal("0.76")


def test_rate_may_have_a_finer_step_than_a_target():
    [carried] = carry([written("6.7", 427)], "C", "F", 1, rate_resolution="0.1")
    assert carried.keyed == written("12.1", 801)  # 6.7 × 1.8 = 12.06; 427 × 1.8 + 32 = 800.6


def test_core_gets_seconds_and_celsius():
    assert to_core([written(180, 212, "7.5"), written(None, 392)], "F") == [
        Segment(pytest.approx(100.0), pytest.approx(100.0), 450.0),
        Segment(None, pytest.approx(200.0), 0.0),
    ]


@pytest.mark.parametrize(("from_unit", "to_unit"), [("K", "C"), ("C", "K"), ("K", "K")])
def test_other_unit_is_refused(from_unit, to_unit):
    with pytest.raises(ValueError, match="not in"):
        carry([written(100, 500)], from_unit, to_unit)


@pytest.mark.parametrize("resolution", [0, -1, "NaN", "Infinity"])
def test_step_that_is_none_is_refused(resolution):
    with pytest.raises(ValueError, match="smallest step"):
        carry([], "C", "F", resolution)


@given(schedules)
def test_celsius_comes_back_from_fahrenheit_unchanged(plan):
    there = [each.keyed for each in carry(plan, "C", "F")]
    assert [each.keyed for each in carry(there, "F", "C")] == plan


@given(schedules)
def test_carrying_to_and_fro_settles_at_once(plan):
    once = [each.keyed for each in carry(plan, "F", "C")]
    back = [each.keyed for each in carry(once, "C", "F")]
    assert [each.keyed for each in carry(back, "F", "C")] == once


@given(schedules, st.sampled_from(["0.1", "1", "5"]))
def test_rounding_is_within_half_a_step(plan, resolution):
    step = Decimal(resolution)
    for carried in carry(plan, "F", "C", resolution):
        for rounding in carried.roundings:
            tiny_rate = rounding.field == "rate" and rounding.keyed == step
            assert abs(rounding.difference) <= step / 2 or tiny_rate


def test_changed_numbers_alone_are_written_anew():
    before = [
        WrittenSegment(Decimal("6.70"), Decimal("1480.50"), Decimal(38)),
        WrittenSegment(None, Decimal("900")),
    ]
    first, second = to_core(before, "F")
    changed = [first, Segment(rate_to_celsius(50.0, "F"), second.target, 3600.0), second]
    assert rewritten(changed, before, "F") == [
        before[0],
        WrittenSegment(Decimal(50), Decimal("900"), Decimal(60)),
        before[1],
    ]
