"""After a power cut: what the glass bears, by where it was and how cool it is now."""

import pytest

from firings.services.power_cut import Recovery, after_power_cut
from schedules.services.case import Case, KilnLimits, Load
from schedules.services.checks import check
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

SEGMENTS = (
    Segment(150.0, 540.0),
    Segment(300.0, 677.0, 1800.0),
    Segment(330.0, 804.0, 600.0),
    Segment(None, 482.0, 3600.0),
    Segment(80.0, 425.0),
    Segment(145.0, 370.0),
)
KILN = KilnResponse(1100.0, 7200.0, 10800.0, slow_cooling_time_constant=21600.0)
PLAN = planned_curve(SEGMENTS, KILN)
LOAD = Load(Glass(493.0, 532.0, 677.0), anneal_soak=482.0)
FIRST, BUBBLE, TOP, SOAK, COOL, LAST = PLAN.spans


def after(
    failed_at: float,
    temperature: float,
    minutes: float = 40.0,
    *,
    thickest: float = 0.006,
    process: str = "full_fuse",
    offset: float = 0.0,
) -> Recovery:
    load = Load(LOAD.glass, thickest=thickest, thinnest=thickest, anneal_soak=482.0)
    kiln = KilnLimits(930.0, response=KILN, offset=offset)
    case = Case(SEGMENTS, process, load, kiln)
    return after_power_cut(case, PLAN, failed_at, temperature, minutes * 60)


@pytest.mark.parametrize(
    ("failed_at", "temperature", "act"),
    [
        (TOP.ramp_start + 300.0, 640.0, "carry_on"),  # soft glass waits
        (TOP.hold_start + 300.0, 700.0, "carry_on"),
        (SOAK.ramp_start + 600.0, 600.0, "carry_on"),  # it was to fall anyhow
        (SOAK.ramp_start + 600.0, 500.0, "carry_on"),
        (FIRST.ramp_start + 7200.0, 250.0, "restart_slowly"),
        (TOP.hold_start + 300.0, 400.0, "restart_slowly"),  # below it, the top still to finish
        (SOAK.ramp_start + 600.0, 440.0, "anneal_again"),
        (SOAK.hold_start + 600.0, 450.0, "anneal_again"),
        (SOAK.hold_start + 600.0, 120.0, "anneal_again"),
        (COOL.ramp_start + 600.0, 380.0, "anneal_again"),  # 88 °C in 40 min, asked were 53
        (COOL.ramp_start + 600.0, 430.0, "carry_on"),  # no faster than asked
        (LAST.ramp_start + 900.0, 300.0, "let_cool"),
        (PLAN.duration + 3600.0, 200.0, "let_cool"),
    ],
)
def test_what_to_do(failed_at: float, temperature: float, act: str) -> None:
    assert after(failed_at, temperature).act == act


def test_what_is_left_of_a_hold_is_kept() -> None:
    left = after(TOP.hold_start + 200.0, 700.0).segments
    assert left[0] == Segment(330.0, 804.0, pytest.approx(400.0))
    assert left[1:] == SEGMENTS[3:]


def test_thick_glass_is_heated_again_as_slowly_as_its_thickness_asks() -> None:
    found = after(TOP.hold_start + 300.0, 400.0, thickest=0.019)
    assert found.rate == 45.0  # common practice for 19 mm, no source
    assert found.segments[0] == Segment(45.0, 540.0)
    assert found.segments[1].target == 804.0
    tack = after(TOP.hold_start + 300.0, 400.0, thickest=0.019, process="tack_fuse")
    assert tack.rate == pytest.approx(22.0)  # half of it, in whole degrees


def test_the_soak_is_whole_again() -> None:
    found = after(SOAK.hold_start + 3000.0, 300.0)
    assert found.segments == (Segment(150.0, 482.0, 3600.0), *SEGMENTS[4:])
    warmer = after(SOAK.hold_start + 3000.0, 482.5)
    assert warmer.segments == SEGMENTS[3:]


def test_the_glass_counts_and_not_the_display() -> None:
    assert after(TOP.ramp_start + 300.0, 545.0).act == "restart_slowly"
    assert after(TOP.ramp_start + 300.0, 545.0, offset=12.0).act == "carry_on"


def test_metal_clay_carries_on() -> None:
    assert after(TOP.ramp_start + 300.0, 100.0, process="metal_clay").act == "carry_on"


@pytest.mark.parametrize("temperature", [60.0, 200.0, 400.0])
@pytest.mark.parametrize("failed_at", [5000.0, TOP.hold_start + 60.0, SOAK.hold_start + 60.0])
def test_what_is_left_heats_no_faster_than_a_check_allows(
    failed_at: float, temperature: float
) -> None:
    found = after(failed_at, temperature, thickest=0.012)
    load = Load(LOAD.glass, thickest=0.012, thinnest=0.012, anneal_soak=482.0)
    remarks = check(found.segments, "full_fuse", load, KilnLimits(930.0, response=KILN))
    assert "heating_fast" not in {remark.code for remark in remarks}
