"""What was keyed and what was noted, as the core takes it."""

from decimal import Decimal

import pytest

from firings.core_inputs import keyed_curve, keyed_segments, recording_of
from studio.models import Person
from tests.factories import (
    make_firing,
    make_revision,
    make_schedule,
)


def test_what_was_keyed_takes_the_place_of_what_was_written(artist: Person) -> None:
    firing = make_firing(artist)
    firing.keyed_differences.create(position=1, part="rate", value=None)
    firing.keyed_differences.create(position=3, part="target", value=Decimal("800"))
    firing.keyed_differences.create(position=3, part="hold", value=Decimal("12"))

    first, _, top, *_ = keyed_segments(firing)

    assert first.rate is None
    assert (top.rate, top.target, top.hold) == (330.0, 800.0, 720.0)
    assert firing.revision.segments.get(position=3).target == 804


def test_keyed_differences_are_in_the_revisions_unit(artist: Person) -> None:
    revision = make_revision(make_schedule(artist), [("300", "1480", 10)], unit="F")
    firing = make_firing(artist, revision=revision)
    firing.keyed_differences.create(position=1, part="rate", value=Decimal("200"))
    firing.keyed_differences.create(position=1, part="target", value=Decimal("1490"))

    [top] = keyed_segments(firing)

    assert top.rate == pytest.approx(111.11, abs=0.01)
    assert top.target == pytest.approx(810.0)


def test_a_keyed_difference_of_a_segment_that_is_not_there_is_left_out(artist: Person) -> None:
    firing = make_firing(artist)
    firing.keyed_differences.create(position=9, part="hold", value=5)

    assert len(keyed_segments(firing)) == 5


def test_the_curve_starts_at_the_rooms_temperature(artist: Person) -> None:
    assert keyed_curve(make_firing(artist, room_temperature_c=12.0)).start == 12.0


def test_recording_holds_only_what_was_noted(artist: Person) -> None:
    recording = recording_of(make_firing(artist, recorded_peak_c=801.0, recorded_hold_s=0))

    assert (recording.peak, recording.hold, recording.duration) == (801.0, 0.0, None)
    assert not recording.is_series
