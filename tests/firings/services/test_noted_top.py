"""Peak and hold alone give the same as the whole comparison does."""

import pytest

from firings.services.comparison import compare
from firings.services.noted_top import NotedTop, kept_curve, kept_heat_work
from firings.services.recording import Recording
from schedules.services.curve import Segment
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1100.0, 7200.0, 10800.0)
FUSE = (Segment(200.0, 670.0, 1800.0), Segment(300.0, 804.0, 600.0), Segment(None, 510.0, 3600.0))


@pytest.mark.parametrize("peak", [None, 640.0, 797.0, 804.0, 812.0, 1200.0])
@pytest.mark.parametrize("hold", [None, 0.0, 600.0, 1500.0])
def test_it_agrees_with_the_comparison(peak: float | None, hold: float | None) -> None:
    plan = kept_curve(FUSE, KILN)
    noted = NotedTop(plan, peak, hold, Glass())

    whole = compare(plan, Recording(peak=peak, hold=hold), Glass())

    assert noted.missed_plan == whole.missed_plan
    assert noted.heat_work_ratio == whole.heat_work_ratio


def test_what_is_kept_is_of_the_kiln_the_room_and_the_glass_asked_for() -> None:
    plan, cold = kept_curve(FUSE, KILN), KilnResponse(1100.0, 7200.0, 10800.0, ambient=5.0)

    assert kept_curve(FUSE, cold).start == 5.0
    assert plan.start == 20.0
    stiff = Glass(strain_point=520.0, annealing_point=560.0, softening_point=740.0)
    assert kept_heat_work(FUSE, KILN, 20.0, stiff) < kept_heat_work(FUSE, KILN, 20.0, Glass())
