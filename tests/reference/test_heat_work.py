"""Heat work against adaptive quadrature (scipy.integrate.quad), and rules of the trade."""

from itertools import pairwise

import pytest
from scipy.integrate import quad

from schedules.services.curve import Segment, planned_curve
from schedules.services.exchange import equal_heat_work_hold
from studio.services.glass import Glass, fluidity, heat_work
from studio.services.kiln_response import KilnResponse

GLASS = Glass()
PROMISED = 1e-4


def by_quadrature(first, last, seconds):
    def rate(share):
        return fluidity(first + (last - first) * share, GLASS)

    # The law changes at the annealing point, and most of the work is done near the hot end.
    marks = (GLASS.annealing_point, max(first, last) - 50.0)
    shares = [(mark - first) / (last - first) for mark in marks]
    inside = [share for share in shares if 0 < share < 1]
    value, _ = quad(rate, 0, 1, points=inside or None, epsabs=0.0, epsrel=1e-10, limit=500)
    return seconds * value


@pytest.mark.parametrize(
    ("first", "last"),
    [
        (20.0, 804.0),
        (20.0, 510.0),  # all below the annealing point
        (540.0, 556.0),  # across it
        (560.0, 790.0),
        (804.0, 804.02),  # hardly a ramp
        (804.0, 516.0),
        (20.0, 1250.0),
    ],
)
def test_two_node_ramp(first, last):
    work = heat_work([0.0, 5400.0], [first, last], GLASS)
    assert work == pytest.approx(by_quadrature(first, last, 5400.0), rel=PROMISED)


@pytest.mark.parametrize(
    "plan",
    [
        [Segment(150.0, 670.0, 1800.0), Segment(400.0, 804.0, 600.0), Segment(None, 516.0)],
        [Segment(None, 556.0)],  # hardly above the annealing point, where the law changes
    ],
)
def test_curve_of_straight_and_exponential_pieces(plan):
    response = KilnResponse(
        1050.0, 9000.0, 12000.0, slow_cooling_time_constant=24000.0, slow_cooling_below=560.0
    )
    curve = planned_curve(plan, response)
    end = curve.cool_to(60.0)
    ends = [piece.end for piece in curve.pieces]
    border = passings(curve, GLASS.annealing_point)
    edges = sorted({0.0, *ends, *border, end})
    value = sum(
        quad(lambda t: fluidity(curve.at(t), GLASS), a, b, epsabs=1e-20, epsrel=1e-9, limit=400)[0]
        for a, b in pairwise(edges)
    )
    assert curve.heat_work(GLASS) == pytest.approx(value, rel=1e-6)


def passings(curve, temperature):
    """When the curve passes a temperature."""
    return [
        piece.time_at(temperature)
        for piece in curve.pieces
        if min(piece.first, piece.last) < temperature < max(piece.first, piece.last)
    ]


# Common practice, no source: 30 minutes at 750 °C do about as much as 5 at 780. Both with the way
# up at 300 and down at 500 °C/h; the trade says "about", so within a factor of 1.5.
def test_half_an_hour_at_750_is_five_minutes_at_780():
    strong = KilnResponse(5000.0, 3600.0, 60.0)
    plan = [Segment(300.0, 750.0, 1800.0), Segment(500.0, 400.0)]
    minutes = equal_heat_work_hold(plan, 0, 780.0, strong, GLASS) / 60.0
    assert 5 / 1.5 < minutes < 5 * 1.5
