from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from schedules.core_inputs import OPENING_C
from schedules.queries.opening import Opening, latest_start, opening_of
from schedules.services.curve import Segment, planned_curve
from studio.services.kiln_response import KilnResponse

FUSE = [Segment(200.0, 804.0, 600.0), Segment(None, 482.0, 3600.0)]
SPREAD = np.diag([64.0, 225.0, 4e5, 1.6e6])
LEARNT = KilnResponse(
    1100.0, 7200.0, 10800.0, slow_cooling_time_constant=21600.0, covariance=SPREAD
)
KEYED = KilnResponse(1100.0, 7200.0, 10800.0, slow_cooling_time_constant=21600.0)
START = datetime(2026, 3, 12, 18, 0, tzinfo=UTC)


def test_the_range_lies_about_the_curves_own_time() -> None:
    curve = planned_curve(FUSE, LEARNT)
    opening = opening_of(curve, START)
    assert opening is not None
    assert opening.after_s == curve.cool_to(OPENING_C)
    assert opening.earliest_at is not None
    assert opening.earliest_at < START + timedelta(seconds=opening.after_s) < opening.latest_at


def test_keyed_figures_give_a_time_and_no_range() -> None:
    opening = opening_of(planned_curve(FUSE, KEYED), START)
    assert opening is not None
    assert opening.at is not None
    assert not opening.is_learnt
    assert (opening.earliest_s, opening.latest_s, opening.earliest_at) == (None, None, None)


def test_without_a_start_it_is_told_in_seconds_alone() -> None:
    opening = opening_of(planned_curve(FUSE, LEARNT))
    assert opening is not None
    assert opening.is_learnt
    assert (opening.at, opening.earliest_at, opening.latest_at) == (None, None, None)


@pytest.mark.parametrize(
    ("target", "room"), [(1099.5, 20.0), (804.0, OPENING_C)], ids=["out of reach", "a hot room"]
)
def test_what_never_comes_has_no_opening(target: float, room: float) -> None:
    kiln = KilnResponse(1100.0, 7200.0, 10800.0, room, covariance=SPREAD)
    assert opening_of(planned_curve([Segment(None, target, 0.0)], kiln), START) is None


def test_a_warm_start_is_counted() -> None:
    warm = opening_of(planned_curve(FUSE, LEARNT, start=300.0))
    cold = opening_of(planned_curve(FUSE, LEARNT))
    assert warm is not None
    assert cold is not None
    assert warm.latest_s < cold.latest_s


def test_latest_start_counts_hours_that_pass_where_the_clocks_change() -> None:
    berlin = ZoneInfo("Europe/Berlin")
    # The clocks go forward at 2:00 on 29 March 2026: ten hours before 9:00 it is 22:00, not 23:00.
    opening = Opening(after_s=30_000.0, earliest_s=29_000.0, latest_s=36_000.0, starts_at=None)
    start = latest_start(opening, datetime(2026, 3, 29, 9, 0, tzinfo=berlin))
    assert start.astimezone(berlin) == datetime(2026, 3, 28, 22, 0, tzinfo=berlin)


def test_latest_start_by_keyed_figures_is_by_what_is_expected() -> None:
    opening = Opening(after_s=3_630.0, earliest_s=None, latest_s=None, starts_at=None)
    start = latest_start(opening, datetime(2026, 3, 5, 9, 0, tzinfo=UTC))
    assert start == datetime(2026, 3, 5, 7, 59, tzinfo=UTC)
