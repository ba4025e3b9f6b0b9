"""What a check says of the glass; each schedule is sound but for the one number under test."""

from dataclasses import replace

import pytest

from firings.demo.written import SCHEDULES
from schedules.services.checks import KilnLimits, Load, check
from schedules.services.curve import Segment
from schedules.services.practice import heating_rate_of_practice
from schedules.services.writing import to_core
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

GLASS = Glass(493.0, 532.0, 677.0, expansion=9e-6)
KILN = KilnLimits(930.0, 12, 1.0, (0.6, 0.5, 0.25), KilnResponse(1180.0, 4115.0, 12240.0))
LOAD = Load(GLASS, thickest=0.006, thinnest=0.006, width=0.2, length=0.3)
FUSE = (
    Segment(150.0, 540.0),
    Segment(100.0, 670.0, 1800.0),
    Segment(300.0, 804.0, 600.0),
    Segment(None, 482.0, 3600.0),
    Segment(83.0, 427.0),
    Segment(150.0, 371.0),
)
FUSE_25_MM = (
    Segment(27.0, 540.0),
    Segment(100.0, 670.0, 1800.0),
    Segment(300.0, 804.0, 600.0),
    Segment(None, 482.0, 4 * 3600.0),
    Segment(15.0, 427.0),
    Segment(27.0, 371.0),
    Segment(90.0, 60.0),
)
LOAD_25_MM = replace(LOAD, thickest=0.025, thinnest=0.025)


def changed(plan, index, **changes):
    return [*plan[:index], replace(plan[index], **changes), *plan[index + 1 :]]


def found(segments, load=LOAD, process="full_fuse", kiln=KILN):
    return {remark.code: remark for remark in check(segments, process, load, kiln)}


def test_sound_schedules_raise_nothing():
    assert found(FUSE) == {}
    assert found(FUSE_25_MM, LOAD_25_MM) == {}


def test_glass_is_not_asked_of_what_the_kiln_can_t_fire():
    assert list(found(changed(FUSE, 2, target=950.0))) == ["target_above_kiln_limit"]


def test_first_heating_too_fast_for_the_thickness():
    remark = found(changed(FUSE_25_MM, 0, rate=60.0), LOAD_25_MM)["heating_fast"]
    assert (remark.severity, remark.segment, remark.figure) == ("warn", 0, 60.0)
    assert remark.limit == pytest.approx(27.0)
    assert remark.remedy.value == remark.limit


def test_full_power_from_cold_counts_at_what_the_kiln_can():
    remark = found(changed(FUSE, 0, rate=None))["heating_fast"]
    assert remark.figure == pytest.approx(KILN.response.rise_at(20.0))


def test_heating_above_the_strain_point_may_be_fast():
    assert "heating_fast" not in found(changed(FUSE, 1, rate=400.0))


@pytest.mark.parametrize(("thickness", "rate"), [(6, 150), (12, 99), (19, 45), (25, 27)])
def test_cautious_heating_is_common_practice(thickness, rate):
    assert heating_rate_of_practice(thickness / 1000, "full_fuse") == pytest.approx(rate)
    assert heating_rate_of_practice(thickness / 1000, "tack_fuse") == pytest.approx(rate / 2)


def test_thick_piece_cooled_fast_below_the_strain_point_is_pulled_at_its_face():
    light = replace(KILN, response=KilnResponse(1180.0, 4115.0, 3600.0))
    remark = found(changed(FUSE_25_MM, 6, rate=300.0), LOAD_25_MM, kiln=light)[
        "tension_above_strength"
    ]
    assert (remark.segment, remark.limit) == (6, 15.0)
    assert remark.figure > 15.0


def test_peak_outside_the_range_of_its_process():
    remark = found(changed(FUSE, 2, target=864.0))["peak_above_range"]
    assert (remark.segment, remark.figure, remark.remedy.value) == (2, 864.0, 840.0)
    remark = found(changed(FUSE, 2, target=740.0))["peak_below_range"]
    assert (remark.segment, remark.limit) == (2, 790.0)


def test_peak_is_that_of_the_glass_and_its_remedy_that_of_the_display():
    hot = replace(KILN, offset=20.0)
    remark = found(changed(FUSE, 2, target=840.0), kiln=hot)["peak_above_range"]
    assert (remark.figure, remark.limit, remark.remedy.value) == (860.0, 840.0, 820.0)


def test_casting_glass_has_no_range_handed_on():
    soft = replace(LOAD, glass=Glass(408.0, 440.0, 582.0))
    assert "peak_below_range" not in found(changed(FUSE, 2, target=700.0), soft)


def test_stacked_sheets_without_time_for_bubbles():
    quick = [Segment(150.0, 540.0), *changed(FUSE, 2, rate=500.0)[2:]]
    remark = found(quick)["bubble_hold_short"]
    assert (remark.severity, remark.limit) == ("warn", 900.0)
    assert 0 < remark.figure < 900.0
    assert found(quick, replace(LOAD, width=0.05, length=0.05))["bubble_hold_short"].severity == (
        "note"
    )
    assert "bubble_hold_short" not in found(quick, replace(LOAD, layers=1))


def test_long_in_the_range_of_crystals_is_noted():
    remark = found(changed(FUSE, 2, rate=30.0))["long_in_devitrification"]
    assert remark.severity == "note"
    # Two hours up through 700 to 760 °C at 30 °C/h, and 12240 s × ln(740/680) down.
    assert remark.figure == pytest.approx(7200.0 + 1035.0, abs=5.0)


def test_soak_short_for_the_thickness():
    remark = found(changed(FUSE_25_MM, 3, hold=2 * 3600.0), LOAD_25_MM)["soak_short"]
    assert (remark.severity, remark.segment, remark.figure) == ("warn", 3, 7200.0)
    assert remark.limit == pytest.approx(25 / 25.4 * 4 * 3600)


def test_soaks_at_two_temperatures_add_up():
    twice = [*changed(FUSE, 3, target=515.0, hold=1800.0)[:4], Segment(200.0, 482.0, 1800.0)]
    assert "soak_short" not in found([*twice, *FUSE[4:]])


def test_relief_is_annealed_as_thicker_and_both_rules_are_told():
    relief = replace(LOAD, thickest=0.009, thinnest=0.006)
    tack = changed(changed(FUSE, 2, target=740.0), 0, rate=75.0)
    remark = found(tack, relief, "tack_fuse")["soak_short"]
    assert remark.thickness_mm == pytest.approx(18.0)
    assert remark.other_thickness_mm == pytest.approx(12.0)


def test_soak_where_glass_is_too_stiff():
    remark = found(changed(FUSE, 3, target=442.0))["soak_too_cool"]
    assert (remark.segment, remark.figure, remark.limit) == (3, 442.0, 468.0)


def test_schedule_without_an_anneal():
    assert found(FUSE[:3])["no_soak"].remedy.act == "add_soak"


def test_first_cooling_too_fast():
    remark = found(changed(FUSE_25_MM, 4, rate=30.0), LOAD_25_MM)["cooling_fast"]
    assert (remark.severity, remark.segment) == ("warn", 4)
    assert remark.figure == pytest.approx(30.0)
    assert remark.limit == pytest.approx(15.0, abs=0.1)


def test_kiln_that_falls_fast_after_the_last_segment():
    remark = found(FUSE_25_MM[:4], LOAD_25_MM)["free_cooling_fast"]
    assert remark.segment is None
    assert remark.figure > 100.0


def test_metal_clay_is_no_glass():
    clay = [Segment(400.0, 900.0, 7200.0)]
    assert found(clay, process="metal_clay") == {}


def test_families_in_one_piece_are_blocked():
    mixed = replace(LOAD, families=("one", "another"))
    assert found(FUSE, mixed)["families_mixed"].severity == "block"
    assert found(FUSE, replace(LOAD, families=("one", "one"))) == {}


def test_piece_in_its_chamber():
    large = replace(LOAD, width=0.46, length=0.5)
    remark = found(FUSE, large)["piece_large_for_chamber"]
    # Two thirds of the 150 °C/h that practice gives 6 mm.
    assert (remark.segment, remark.figure) == (0, 150.0)
    assert remark.limit == pytest.approx(100.0)
    turned = replace(LOAD, width=0.55, length=0.4)
    assert "piece_wider_than_chamber" not in found(FUSE, turned)
    wide = found(FUSE, replace(LOAD, width=0.55, length=0.55))["piece_wider_than_chamber"]
    assert wide.severity == "block"


@pytest.mark.parametrize("process", ["full_fuse", "cast", "metal_clay"])
def test_large_piece_is_noted_only_where_its_first_heating_is_not_gentle(process):
    large = replace(LOAD, width=0.46, length=0.5)
    plan = changed(FUSE, 0, rate=150.0 if process != "full_fuse" else 100.0)
    assert "piece_large_for_chamber" not in found(plan, large, process)


def demo_glass(family):
    return {
        "Millrace 90": GLASS,
        "Millrace 96": Glass(476.0, 512.0, 680.0, expansion=9.6e-6),
        "Float": Glass(),
        "Casting crystal": Glass(408.0, 440.0, 582.0, expansion=10.4e-6),
    }[family]


@pytest.mark.parametrize("schedule", SCHEDULES, ids=lambda schedule: schedule.name)
def test_working_schedules_raise_remarks_only_for_their_relief(schedule):
    load = Load(
        demo_glass(schedule.family),
        thickest=schedule.thickest_mm / 1000,
        thinnest=schedule.thinnest_mm / 1000,
        layers=schedule.layers,
        width=0.0,
        length=0.0,
    )
    remarks = found(to_core(schedule.written(), schedule.unit), load, schedule.process)
    assert set(remarks) <= ({"soak_short", "cooling_fast"} if schedule.relief else set())
