from math import log

import pytest

from firings.services.measured import by_strips, by_thermometer, by_tiles, per_degree
from firings.services.strips import Strip
from studio.services.glass import Glass, fluidity

GLASS = Glass(493.0, 532.0, 677.0)
STRIP = Strip(3.0, 60.0)


def test_a_thermometer_shows_glass_and_shares_its_tolerance() -> None:
    read = by_thermometer(0.0, 482.0, {"a": 478.0, "b": 470.0}, 5.0, "probe")
    assert [each.glass for each in read.seen] == [478.0, 470.0]
    assert read.shared == pytest.approx(2.887, abs=1e-3)  # 5/√3


def test_a_tile_that_looks_as_meant_came_to_its_temperature() -> None:
    tiles = by_tiles(0.0, 800.0, {"a": 0, "b": -1}, GLASS, "tiles", wanted_at=806.0, tolerance=3.0)
    assert tiles.seen[0].glass == 806.0
    # A step of verdict is a quarter of ln W; at 806 °C a degree is some 0.04 of it.
    assert tiles.seen[1].glass == pytest.approx(806.0 - 0.25 / per_degree(806.0, GLASS))
    assert tiles.seen[1].doubt > tiles.seen[0].doubt


def test_tiles_of_which_nothing_is_known_tell_only_of_places() -> None:
    tiles = by_tiles(0.0, 804.0, {"a": 0, "b": 1}, GLASS, "tiles")
    assert tiles.shared is None
    assert tiles.seen[1].glass > tiles.seen[0].glass


def test_a_state_beyond_the_scale_is_refused() -> None:
    with pytest.raises(ValueError, match="no state"):
        by_tiles(0.0, 804.0, {"a": 3}, GLASS, "tiles")


def test_twice_the_sag_is_twice_the_heat_work() -> None:
    fired = by_strips(0.0, 620.0, {"a": 2.0, "b": 4.0}, STRIP, GLASS, "strips")
    apart = fired.seen[1].glass - fired.seen[0].glass
    assert apart == pytest.approx(log(2.0) / per_degree(620.0, GLASS))
    assert fired.shared is None


def test_a_strip_that_sagged_as_the_display_says_shows_no_offset() -> None:
    work = fluidity(610.0, GLASS) * 900.0
    sag = 3.0 * work / STRIP.heat_work(3.0)
    fired = by_strips(0.0, 610.0, {"a": sag}, STRIP, GLASS, "strips", heat_work=work)
    assert fired.seen[0].glass == pytest.approx(610.0)
    assert fired.shared is not None
    assert fired.shared > 4.0  # a glass is never known better than that
