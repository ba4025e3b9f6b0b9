"""What a reading means: usual, behind, fallen, and above all the runaway."""

import numpy as np
import pytest

from firings.services.plan_place import Noted, place_readings
from firings.services.standing import Standing, judge_reading, spread_at
from schedules.services.curve import Curve, Segment, planned_curve
from studio.services.kiln_response import KilnResponse

# Learnt: 6 % of the rise and of each cooling constant from firing to firing, 15 °C of the limit.
COVARIANCE = np.diag([12.0**2, 15.0**2, 650.0**2, 1300.0**2])
KILN = KilnResponse(
    1100.0, 7200.0, 10800.0, slow_cooling_time_constant=21600.0, covariance=COVARIANCE
)
SEGMENTS = [
    Segment(300.0, 677.0, 1800.0),
    Segment(None, 804.0, 600.0),
    Segment(None, 482.0, 3600.0),
    Segment(80.0, 370.0),
]
PLAN = planned_curve(SEGMENTS, KILN)
TOP, SOAK = PLAN.spans[1], PLAN.spans[2]
END = PLAN.duration or 0.0


def judged(*readings: tuple[float, float], plan: Curve = PLAN) -> Standing:
    told = judge_reading(plan, place_readings(plan, [Noted(*each) for each in readings]))
    assert told is not None
    return told


@pytest.mark.parametrize(
    ("readings", "code"),
    [
        ([(3600.0, 321.0)], "on_plan"),
        ([(3600.0, 350.0)], "ahead"),
        ([(TOP.hold_start + 300.0, 805.0)], "on_plan"),
        # Nobody looked until the top was long over: it is late, not hot.
        ([(SOAK.ramp_start + 1800.0, 803.0)], "late"),
        ([(SOAK.ramp_start + 1200.0, PLAN.at(SOAK.ramp_start + 1200.0) + 20)], "slower_usual"),
        ([(SOAK.ramp_start + 1200.0, PLAN.at(SOAK.ramp_start + 1200.0) - 20)], "faster_usual"),
        ([(SOAK.ramp_start + 1200.0, 500.0)], "faster"),
        # Vented: less than what counts as a fall.
        ([(SOAK.hold_start + 600.0, 482.0), (SOAK.hold_start + 1200.0, 475.0)], "below_hold"),
        ([(SOAK.hold_start + 600.0, 482.0), (SOAK.hold_start + 1800.0, 440.0)], "fell"),
        ([(5000.0, 437.0), (5600.0, 380.0)], "fell"),
        # A controlled cooling that runs away downwards: the power is off.
        ([(SOAK.hold_end + 600.0, 468.0), (SOAK.hold_end + 3600.0, 360.0)], "fell"),
        # Overshoot within what controllers do.
        ([(TOP.hold_start + 60.0, 804.0), (TOP.hold_start + 180.0, 812.0)], "over_hold"),
        # Too hot, and nothing known of a climb.
        ([(TOP.hold_start + 300.0, 822.0)], "hot"),
        ([(TOP.hold_start + 60.0, 822.0), (TOP.hold_start + 240.0, 820.0)], "hot"),
    ],
)
def test_what_a_reading_means(readings: list[tuple[float, float]], code: str) -> None:
    assert judged(*readings).code == code


@pytest.mark.parametrize(
    "readings",
    [
        [(TOP.hold_start + 60.0, 806.0), (TOP.hold_start + 300.0, 826.0)],
        [(TOP.hold_start - 120.0, 795.0), (TOP.hold_start + 400.0, 830.0)],
        [(SOAK.hold_start + 600.0, 482.0), (SOAK.hold_start + 1500.0, 500.0)],
        [(SOAK.hold_end + 1800.0, 442.0), (SOAK.hold_end + 3000.0, 470.0)],
        [(END + 3600.0, 340.0), (END + 7200.0, 380.0)],
        # One reading alone, far above all that was asked for.
        [(TOP.hold_start + 300.0, 850.0)],
        [(END + 36000.0, 900.0)],
    ],
)
def test_above_its_plan_and_climbing_is_a_runaway(readings: list[tuple[float, float]]) -> None:
    told = judged(*readings)
    assert (told.code, told.is_runaway, told.is_grave) == ("runaway", True, True)
    assert told.ceiling is not None


@pytest.mark.parametrize("above", [11.0, 15.0, 25.0, 60.0, 200.0])
@pytest.mark.parametrize("into_the_hold", [10.0, 300.0, 590.0])
def test_nothing_above_a_hold_is_ever_called_ahead(above: float, into_the_hold: float) -> None:
    told = judged((TOP.hold_start + into_the_hold, 804.0 + above))
    assert told.code in ("hot", "runaway")


def test_a_climb_on_a_ramp_is_no_runaway() -> None:
    assert judged((1800.0, 170.0), (3600.0, 322.0)).code == "on_plan"
    assert judged((TOP.ramp_start + 900.0, 700.0), (TOP.hold_start - 30.0, 803.0)).code != "runaway"


def test_a_third_of_its_usual_rise_is_falling_behind() -> None:
    begin = TOP.ramp_start + 300.0
    since = float(PLAN.at(begin))
    third = float(KILN.heated(since, 1500.0) - since) / 3
    told = judged((begin, since), (begin + 1500.0, since + third))
    assert told.code == "falling_behind"
    assert told.share == pytest.approx(1 / 3, abs=0.01)
    assert not told.from_the_start


def test_a_lag_on_a_slow_ramp_is_no_weak_kiln() -> None:
    slow = planned_curve([Segment(150.0, 540.0)], KILN)
    for readings in ([(7200.0, 309.0)], [(3600.0, 160.0), (7200.0, 308.0)]):
        assert judged(*readings, plan=slow).code in ("behind", "behind_usual")
    assert judged((3600.0, 170.0), (7200.0, 240.0), plan=slow).code == "falling_behind"


def test_behind_from_the_start_may_be_a_later_start() -> None:
    told = judged((3600.0, 80.0))
    assert told.code == "falling_behind"
    assert told.from_the_start


def test_twelve_degrees_at_full_power_are_usual_where_the_kiln_scatters_so() -> None:
    moment = TOP.ramp_start + 1400.0
    told = judged((TOP.ramp_start, 677.0), (moment, float(PLAN.at(moment)) - 6.0))
    assert told.code == "behind_usual"
    assert told.is_learnt


def test_the_same_is_too_much_for_a_kiln_that_repeats_itself() -> None:
    steady = planned_curve(
        SEGMENTS, KilnResponse(1100.0, 7200.0, 10800.0, covariance=COVARIANCE / 400.0)
    )
    span = steady.spans[1]
    moment = span.ramp_start + 1400.0
    told = judged((span.ramp_start, 677.0), (moment, float(steady.at(moment)) - 8.0), plan=steady)
    assert told.code == "behind"


def test_keyed_figures_say_that_nothing_was_learnt() -> None:
    plan = planned_curve(SEGMENTS, KilnResponse(1100.0, 7200.0, 10800.0))
    spread, is_learnt = spread_at(plan, plan.spans[1].ramp_start + 600.0)
    assert not is_learnt
    assert spread > spread_at(PLAN, TOP.ramp_start + 600.0)[0]


def test_spread_is_what_drawing_many_kilns_gives() -> None:
    """Against the scatter of curves whose parameters are drawn from the same covariance."""
    from studio.services.response_parameters import parameters, with_parameters

    moment = SOAK.ramp_start + 1500.0
    chance = np.random.default_rng(5)
    drawn = chance.multivariate_normal(parameters(KILN), COVARIANCE, 600)
    shown = [planned_curve(SEGMENTS, with_parameters(KILN, each.tolist())).at(moment)
             for each in drawn]  # fmt: skip
    assert spread_at(PLAN, moment)[0] == pytest.approx(float(np.std(shown)), rel=0.25)


def test_no_reading_says_nothing() -> None:
    assert judge_reading(PLAN, place_readings(PLAN, [])) is None


def test_beyond_a_target_out_of_reach_nothing_is_known() -> None:
    plan = planned_curve([Segment(None, 1099.9, 600.0)], KILN)
    assert judge_reading(plan, place_readings(plan, [Noted(1e6, 1000.0)])) is None
