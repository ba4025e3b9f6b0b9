"""Kilns and schedules at random, within what studios fire."""

from hypothesis import strategies as st

from schedules.services.curve import Segment
from studio.services.kiln_response import KilnResponse


@st.composite
def responses(draw):
    cooling = draw(st.floats(3600.0, 30000.0))
    slow = draw(st.none() | st.floats(1.0, 3.0))
    return KilnResponse(
        draw(st.floats(850.0, 1300.0)),
        draw(st.floats(2000.0, 15000.0)),
        cooling,
        draw(st.floats(5.0, 35.0)),
        slow_cooling_time_constant=None if slow is None else slow * cooling,
        slow_cooling_below=draw(st.floats(150.0, 600.0)),
    )


def segments():
    """Targets that every kiln of `responses` reaches; rates from creeping to beyond any kiln.

    Targets are whole tenths of a degree: two that differ by a rounding error alone make a ramp
    whose slope is nothing but that error.
    """
    rates = st.none() | st.floats(20.0, 1000.0)
    targets = st.integers(600, 8400).map(lambda tenths: tenths / 10)
    holds = st.just(0.0) | st.floats(60.0, 7200.0)
    return st.lists(st.builds(Segment, rates, targets, holds), min_size=1, max_size=8)
