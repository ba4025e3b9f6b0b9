"""What counts as having fired what a forecast spoke of."""

from dataclasses import replace

import pytest

from firings.services.forecast_kept import fired_as
from schedules.services.curve import Segment

STOOD = [Segment(150.0, 540.0), Segment(330.0, 804.0, 600.0), Segment(None, 482.0, 3600.0)]
HOTTER = [STOOD[0], replace(STOOD[1], target=808.0), STOOD[2]]


@pytest.mark.parametrize(
    ("keyed", "told"),
    [
        (HOTTER, "as_advised"),
        (STOOD, "as_it_stood"),
        ([STOOD[0], replace(STOOD[1], target=804.3), STOOD[2]], "as_it_stood"),  # 1480 °F
        ([STOOD[0], replace(STOOD[1], target=807.8), STOOD[2]], "as_advised"),  # 1486 °F
        ([STOOD[0], replace(STOOD[1], target=806.0), STOOD[2]], "otherwise"),
        ([STOOD[0], replace(STOOD[1], hold=660.0), STOOD[2]], "otherwise"),
        ([replace(STOOD[0], rate=151.0), *STOOD[1:]], "as_it_stood"),  # of a change of unit
        ([replace(STOOD[0], rate=160.0), *STOOD[1:]], "otherwise"),
        ([replace(STOOD[0], rate=None), *STOOD[1:]], "otherwise"),
        ([*STOOD[:2], replace(STOOD[2], rate=100.0)], "otherwise"),
        ([*STOOD[:2], replace(STOOD[2], hold=3660.0)], "otherwise"),
        (STOOD[:2], "otherwise"),
    ],
)
def test_every_number_counts(keyed: list[Segment], told: str) -> None:
    assert fired_as(keyed, STOOD, HOTTER) == told


def test_without_an_advised_change_only_the_schedule_as_it_stood_counts() -> None:
    assert fired_as(STOOD, STOOD, None) == "as_it_stood"
    assert fired_as(HOTTER, STOOD, None) == "otherwise"
