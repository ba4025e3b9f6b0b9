import numpy as np
import pytest

from schedules.services.anneal_plan import CoolingStage, cooling_stages
from schedules.services.safe_cooling import FASTER_BY, safe_stages, stages_passed
from studio.services.glass import Glass

GLASS = Glass(493.0, 532.0, 677.0)
STAGE = CoolingStage(482.0, 427.0, 80.0)


def passed(times, faces, stage=STAGE, since=0.0):
    [found] = stages_passed(times, faces, [stage], since=since)
    return found


@pytest.mark.parametrize("thickness", [0.003, 0.006, 0.009, 0.012, 0.019, 0.025, 0.05])
def test_no_stage_is_faster_than_conduction_allows(thickness: float) -> None:
    for safe, conducted in zip(
        safe_stages(thickness, GLASS, 482.0), cooling_stages(thickness, GLASS, 482.0), strict=True
    ):
        assert safe.rate <= conducted.rate
        assert safe.start == conducted.start


def test_thick_pieces_are_limited_by_conduction_alone() -> None:
    safe, conducted = safe_stages(0.05, GLASS, 482.0), cooling_stages(0.05, GLASS, 482.0)
    assert [each.rate for each in safe] == pytest.approx([each.rate for each in conducted])


def test_later_stages_go_no_faster_than_practice() -> None:
    assert [each.rate for each in safe_stages(0.003, GLASS, 482.0)] == pytest.approx(
        [83.0, 149.4, 330.0]
    )


def test_a_steady_fall_is_told_by_its_rate_and_time() -> None:
    # 60 °C/h: 55 °C take 55 minutes, after a soak of an hour.
    found = passed([0.0, 3600.0, 10800.0], [482.0, 482.0, 362.0], since=3600.0)
    assert found.fastest == pytest.approx(60.0)
    assert found.took == pytest.approx(55 * 60)
    assert not found.is_faster


def test_a_hold_on_the_way_does_not_hide_a_fast_fall() -> None:
    # 200 °C/h to 450, an hour there, then on: the mean over the stage is 43 °C/h.
    times = [0.0, 576.0, 4176.0, 5976.0]
    found = passed(times, [482.0, 450.0, 450.0, 350.0])
    assert found.took == pytest.approx(576 + 3600 + 414, abs=1)
    assert found.fastest > FASTER_BY * 80
    assert found.is_faster


def test_stairs_count_by_what_the_slab_feels_of_them() -> None:
    # 5 °C at once every 4 minutes is 75 °C/h.
    times = np.repeat(np.arange(0.0, 3600.0, 240.0), 2)[1:]
    faces = np.repeat(482.0 - 5.0 * np.arange(15), 2)[:-1]
    assert not passed(times, faces).is_faster


@pytest.mark.parametrize(
    ("times", "faces"),
    [
        ([0.0, 3600.0], [482.0, 440.0]),  # not to its end
        ([0.0, 3600.0], [600.0, 500.0]),  # not come to
        ([0.0], [482.0]),
    ],
)
def test_stage_that_was_not_passed_has_no_figures(times, faces) -> None:
    found = passed(times, faces)
    assert (found.fastest, found.took, found.is_faster) == (None, None, False)


def test_fall_to_the_soak_is_no_stage() -> None:
    times, faces = [0.0, 3600.0, 7200.0, 10800.0], [804.0, 482.0, 482.0, 402.0]
    assert passed(times, faces, since=7200.0).fastest == pytest.approx(80.0)


def test_a_soak_above_the_stage_begins_where_it_is_crossed() -> None:
    found = passed([0.0, 3600.0], [487.0, 387.0])
    assert found.took == pytest.approx(55 * 36)


def test_times_and_temperatures_belong_together() -> None:
    with pytest.raises(ValueError, match="differ"):
        stages_passed([0.0, 1.0], [482.0], [STAGE], since=0.0)
