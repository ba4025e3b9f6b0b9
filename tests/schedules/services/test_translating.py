from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedules.services.case import KilnLimits, Load
from schedules.services.merging import MergeStep
from schedules.services.translating import soaks_of, translate
from schedules.services.writing import WrittenSegment, to_core
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

GLASS = Load(Glass(493.0, 532.0, 677.0), anneal_soak=482.0)
RESPONSE = KilnResponse(1250.0, 4950.0, 12_600.0, slow_cooling_time_constant=25_200.0)
KILN = KilnLimits(930.0, 8, response=RESPONSE)
HOT = replace(KILN, offset=12.0)


def written(*rows: tuple[float | None, float, int]) -> list[WrittenSegment]:
    return [
        WrittenSegment(
            None if rate is None else Decimal(str(rate)), Decimal(str(target)), Decimal(hold)
        )
        for rate, target, hold in rows
    ]


FUSE = written((150, 540, 0), (300, 677, 30), (330, 804, 10), (None, 482, 60), (83, 371, 0))


def test_in_a_kiln_12_hot_804_is_keyed_792_and_rates_and_soak_stay() -> None:
    there = translate(FUSE, "C", "full_fuse", GLASS, KILN, HOT)
    assert [float(each.target) for each in there.written] == [540, 677, 792, 482, 371]
    assert [each.rate for each in there.written] == [each.rate for each in FUSE]
    assert (there.top_shift, there.soak_shift, there.hold_change) == (-12.0, None, 0.0)
    assert there.heat_works is not None
    # PRACTICE: unshifted it would be about 1.5 times the heat work.
    assert there.heat_works.unshifted_ratio == pytest.approx(1.5, abs=0.1)
    assert there.heat_works.ratio == pytest.approx(1.0, abs=0.03)


def test_soak_moves_by_what_is_known_near_it() -> None:
    there = translate(FUSE, "C", "full_fuse", GLASS, KILN, HOT, soak_shift=-5.0)
    assert [float(each.target) for each in there.written] == [540, 677, 792, 477, 371]


@pytest.mark.parametrize("process", ["anneal_only", "bead_anneal"])
def test_a_top_that_is_the_anneal_moves_on_evidence_near_it_alone(process: str) -> None:
    plan = written((100, 516, 60), (60, 400, 0))
    stays = translate(plan, "C", process, GLASS, KILN, HOT)
    assert (float(stays.written[0].target), stays.heat_works) == (516, None)
    moved = translate(plan, "C", process, GLASS, KILN, HOT, soak_shift=-4.0)
    assert float(moved.written[0].target) == 512


def test_fahrenheit_is_carried_by_temperatures_and_differences() -> None:
    plan = written((300, 1480, 10), (50, 900, 60))
    there = translate(plan, "F", "full_fuse", GLASS, replace(KILN, unit="F"), KILN)
    first, second = there.written
    # 300 °F/h is 166.7 °C/h, not 149; 1480 °F is 804.4 °C; 50 °F/h is 27.8 °C/h, not 10.
    assert (float(first.rate or 0), float(first.target), float(second.rate or 0)) == (167, 804, 28)
    assert {one.field for one in there.segments[0].roundings} == {"rate", "target"}


def test_slower_approach_is_told_and_paid_back_in_the_hold() -> None:
    # At 804 °C it rises (1250 − 804) / 2 h = 223 °C/h, not 330.
    weak = replace(
        KILN, response=replace(RESPONSE, full_power_limit=1250.0, heating_time_constant=7200.0)
    )
    there = translate(FUSE, "C", "full_fuse", GLASS, KILN, weak)
    slow = [ramp for ramp in there.ramps if ramp.is_told and ramp.asked is not None]
    assert 2 in [ramp.segment for ramp in slow]
    assert all(ramp.took is not None and ramp.takes > ramp.took for ramp in slow)
    assert (there.hold_change < 0, there.peak_fit) == (True, 0.0)
    assert there.later is not None
    assert there.later > 0
    works = there.heat_works
    assert works is not None
    assert works.hold_as_written / works.wanted > works.ratio
    kept = translate(FUSE, "C", "full_fuse", GLASS, KILN, weak, fit_hold=False)
    assert kept.hold_change == 0.0
    assert kept.written[2].hold_minutes == 10


def test_where_no_hold_would_be_left_the_top_is_keyed_lower() -> None:
    # At 804 °C it rises (840 − 804) / 2 h = 18 °C/h: the way up does all of the work.
    response = replace(RESPONSE, full_power_limit=840.0, heating_time_constant=7200.0)
    weak = replace(KILN, response=response)
    there = translate(FUSE, "C", "full_fuse", GLASS, KILN, weak)
    assert there.peak_fit < 0
    assert float(there.written[2].target) == 804 + there.peak_fit
    assert there.written[2].hold_minutes >= 5
    assert there.heat_works is not None
    assert there.heat_works.ratio == pytest.approx(1.0, abs=0.05)
    kept = translate(FUSE, "C", "full_fuse", GLASS, KILN, weak, fit_hold=False)
    assert (kept.peak_fit, kept.hold_change) == (0.0, 0.0)


def test_top_is_never_lowered_below_what_lies_beneath() -> None:
    response = replace(RESPONSE, full_power_limit=840.0, heating_time_constant=7200.0)
    plan = written((150, 775, 30), (330, 804, 1), (None, 482, 60))
    there = translate(
        plan, "C", "full_fuse", GLASS, KILN, replace(KILN, offset=0.0, response=response)
    )
    assert max(each.target for each in there.written) == there.written[1].target


def test_a_controller_with_fewer_segments_gets_them_merged_and_never_the_anneal() -> None:
    few = replace(KILN, segments=4)
    there = translate(FUSE, "C", "full_fuse", GLASS, KILN, few)
    assert there.fits
    assert there.merging is not None
    # At 482 °C it falls (482 − 20) / 3.5 h = 132 °C/h by itself: the 83 hold it back, and stay.
    assert there.merging.steps == (MergeStep("joined", (0, 1), 150.0),)
    assert Decimal(482) in [each.target for each in there.written]
    three = translate(FUSE, "C", "full_fuse", GLASS, KILN, replace(KILN, segments=2))
    assert not three.fits
    assert three.offered == ()


def test_a_hold_beyond_the_controllers_longest_is_written_in_parts() -> None:
    there = translate(
        written((150, 804, 10), (None, 482, 150)),
        "C",
        "full_fuse",
        GLASS,
        KILN,
        replace(KILN, longest_hold=3600.0),
    )
    assert [int(each.hold_minutes) for each in there.written] == [10, 60, 60, 30]
    assert [each.made_of for each in there.segments] == [(0,), (1,), (1,), (1,)]


def test_a_top_beyond_the_kilns_reach_has_no_heat_work() -> None:
    small = replace(KILN, response=replace(RESPONSE, full_power_limit=790.0))
    there = translate(FUSE, "C", "full_fuse", GLASS, KILN, small)
    assert there.heat_works is None
    assert there.after.unreached == 2
    assert there.later is None


def test_a_kiln_without_response_is_refused() -> None:
    with pytest.raises(ValueError, match="responses are known"):
        translate(FUSE, "C", "full_fuse", GLASS, KILN, KilnLimits(930.0))


def test_metal_clay_moves_its_top_and_knows_no_heat_work() -> None:
    there = translate(written((200, 840, 60)), "C", "metal_clay", Load(), KILN, HOT)
    assert (float(there.written[0].target), there.heat_works) == (828, None)
    assert soaks_of(to_core(FUSE, "C"), "metal_clay", GLASS, KILN) == []


@given(st.floats(-20, 20), st.floats(-20, 20))
def test_same_shift_of_both_displays_changes_nothing(offset: float, apart: float) -> None:
    """Only the difference of the offsets counts."""
    first = translate(FUSE, "C", "tack_fuse", GLASS, KILN, replace(KILN, offset=apart))
    both = translate(
        FUSE,
        "C",
        "tack_fuse",
        GLASS,
        replace(KILN, offset=offset),
        replace(KILN, offset=offset + apart),
    )
    assert first.top_shift == pytest.approx(both.top_shift, abs=1e-9)
    assert [each.rate for each in first.written] == [each.rate for each in both.written]


@given(st.floats(-15, 15))
def test_into_the_same_kiln_with_another_offset_the_glass_is_done_alike(offset: float) -> None:
    there = translate(FUSE, "C", "full_fuse", GLASS, KILN, replace(KILN, offset=offset))
    assert there.heat_works is not None
    # Left is what whole degrees and minutes leave, and a course through other display figures.
    assert there.heat_works.ratio == pytest.approx(1.0, abs=0.05)


def test_into_its_own_kiln_nothing_changes() -> None:
    there = translate(FUSE, "C", "full_fuse", GLASS, KILN, KILN)
    assert there.written == FUSE
    assert not [ramp for ramp in there.ramps if ramp.is_told and ramp.takes != ramp.took]
