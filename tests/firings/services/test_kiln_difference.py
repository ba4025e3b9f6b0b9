from dataclasses import replace
from math import log

import pytest

from firings.services.evidence import PastFiring, Situation
from firings.services.kiln_difference import (
    OffsetDifference,
    difference_by_repeats,
    recorded_difference,
)
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

RESPONSE = KilnResponse(1250.0, 4950.0, 12_600.0)
GLASS = Glass(493.0, 532.0, 677.0)
UNKNOWN = recorded_difference(0.0, 0.0, measured_from=False, measured_to=False)


def fuse(peak: float) -> list[Segment]:
    return [Segment(300.0, peak, 600.0), Segment(None, 482.0, 3600.0)]


HERE = Situation(fuse(804.0), RESPONSE, GLASS, "A", service_epoch=0, offsets={"B": 0.0})


def work(peak: float) -> float:
    return planned_curve(fuse(peak), RESPONSE).heat_work(GLASS)


def fired(kiln: str, peak: float, hotter: float = 0.0, **more: object) -> PastFiring:
    """Judged by what the glass of a kiln that is hotter came to, where 804 °C is as wanted."""
    judged = round(4.0 * log(work(peak + hotter) / work(804.0)))
    verdict = max(-2, min(2, judged))
    return PastFiring(kiln, work(peak), 0.05, verdict, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("hotter", [-10.0, 0.0, 8.0])
def test_repeats_find_a_kiln_that_runs_hot(hotter: float) -> None:
    peaks = (792.0, 797.0, 801.0, 804.0, 807.0, 811.0, 816.0)
    past = [fired("A", peak) for peak in peaks] + [fired("B", peak, hotter) for peak in peaks]
    found = difference_by_repeats(past, HERE, "B", 0, UNKNOWN)
    assert found is not None
    # Seven verdicts each, a verdict some 7 °C wide: two to three degrees are left open.
    assert found.value == pytest.approx(hotter, abs=3.0)
    assert found.doubt < UNKNOWN.doubt / 2
    assert (found.firings_from, found.firings_to) == (7, 7)


def test_offset_on_record_is_not_counted_twice() -> None:
    """A display that reads true by its record of +8 shows no further difference."""
    here = replace(HERE, offsets={"B": 8.0})
    recorded = recorded_difference(0.0, 8.0, measured_from=True, measured_to=True)
    past = [fired("A", 804.0)] * 3 + [fired("B", 796.0, 8.0)] * 3
    found = difference_by_repeats(past, here, "B", 0, recorded)
    assert found is not None
    assert found.value == pytest.approx(8.0, abs=0.5)
    assert found.doubt < recorded.doubt


@pytest.mark.parametrize(
    "past",
    [
        [],
        [fired("A", 804.0)],
        [fired("B", 804.0)],
        [fired("A", 804.0), replace(fired("B", 804.0), verdict=None)],
        [fired("A", 804.0), fired("B", 804.0, service_epoch=1)],
        [fired("A", 804.0), fired("B", 804.0, also_changed=("mould",))],
        [fired("A", 804.0), fired("C", 804.0)],
    ],
)
def test_one_kiln_alone_tells_nothing(past: list[PastFiring]) -> None:
    assert difference_by_repeats(past, HERE, "B", 0, UNKNOWN) is None


def test_what_nobody_measured_is_less_sure() -> None:
    known = recorded_difference(2.0, 9.0, measured_from=True, measured_to=True)
    half = recorded_difference(2.0, 9.0, measured_from=True, measured_to=False)
    assert known == OffsetDifference(7.0, known.doubt)
    assert known.doubt < half.doubt < UNKNOWN.doubt
