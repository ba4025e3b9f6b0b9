"""Whether glass is heated, or cooled when it is rigid, faster than it bears."""

from collections.abc import Iterator

import numpy as np

from schedules.services.case import Case, Remark, Remedy
from schedules.services.opening import opening_limit
from schedules.services.passing_stress import DESIGN_STRENGTH
from schedules.services.practice import heating_rate_of_practice
from studio.services.kiln_response import KilnResponse

TOLERANCE = 1.8
"""Times the cautious rate of practice at which a first heating is remarked on: practice differs by
as much from one studio to the next."""
PASCALS_PER_MEGAPASCAL = 1e6
MM_PER_M = 1000.0

LAID_IN_PARTS = ("bead_anneal", "cast")
"""Beads go into a hot kiln and castings begin as lumps: neither is heated as one slab."""


def heating(case: Case) -> Iterator[Remark]:
    """The first heating, up to the strain point, against common practice for the thickness."""
    limit = heating_limit(case)
    for index, rate in first_heating(case):
        if limit is not None and rate > TOLERANCE * limit:
            yield Remark("heating_fast", "warn", index, rate, limit, Remedy("set_rate", limit))


def heating_limit(case: Case) -> float | None:
    """°C/h that practice gives the load up to the strain point; None for what is no one slab.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> slump, cast = (
    ...     Case((), process, Load(), KilnLimits(930.0)) for process in ("slump", "cast")
    ... )
    >>> round(heating_limit(slump)), heating_limit(cast)
    (150, None)
    """
    if not case.is_glass or case.process in LAID_IN_PARTS:
        return None
    return heating_rate_of_practice(case.load.thickest, case.process, case.thickness.wide)


def first_heating(case: Case) -> Iterator[tuple[int, float]]:
    """Index and rate, °C/h, of each segment that heats from below the strain point, at what the
    kiln makes of its rate; without those at full power of which nothing is known.

    Examples
    --------
    >>> from schedules.services.case import KilnLimits, Load
    >>> from schedules.services.curve import Segment
    >>> up = (Segment(150.0, 300.0), Segment(200.0, 560.0), Segment(300.0, 804.0))
    >>> list(first_heating(Case(up, "full_fuse", Load(), KilnLimits(930.0))))
    [(0, 150.0), (1, 200.0)]
    """
    before = case.start + case.kiln.offset
    for index, (segment, target) in enumerate(zip(case.segments, case.targets, strict=True)):
        if before < case.load.glass.strain_point and before < target:
            rate = _rate(segment.rate, case.kiln.response, before - case.kiln.offset)
            if rate is not None:
                yield index, rate
        before = max(before, target)


def _rate(rate: float | None, response: KilnResponse | None, start: float) -> float | None:
    """What the kiln makes of a rate, °C/h; None for full power of which nothing is known."""
    if response is None:
        return rate
    full_power = response.rise_at(start)
    return full_power if rate is None else min(rate, full_power)


def passing_tension(case: Case) -> Iterator[Remark]:
    """The greatest passing tension of the firing against the design strength."""
    if case.stress is None or case.curve is None:
        return
    stress = case.stress.stress
    ends = [span.hold_end for span in case.curve.spans]
    one_piece = stress.times >= (ends[case.top] if case.process in LAID_IN_PARTS else 0.0)
    tension = np.where(one_piece, stress.tension, 0.0)
    worst = int(np.argmax(tension))
    greatest = float(tension[worst])
    if greatest > DESIGN_STRENGTH:
        moment = float(stress.times[worst])
        index = next((i for i, end in enumerate(ends) if moment <= end + 1.0), None)
        yield Remark(
            "tension_above_strength",
            "warn",
            index,
            greatest / PASCALS_PER_MEGAPASCAL,
            DESIGN_STRENGTH / PASCALS_PER_MEGAPASCAL,
            Remedy("slow_down"),
        )


def opening(case: Case) -> Iterator[Remark]:
    """The temperature at which the kiln is to be opened, in the glass, against its thickness. No
    segment mends it: it is a matter of waiting."""
    if not case.is_glass or not case.segments:
        return
    thickness, found = case.thickness.by_factor, case.opening + case.kiln.offset
    limit = opening_limit(thickness, case.load.glass, case.faces, room=case.start).temperature
    if found > limit:
        yield Remark("opening_hot", "note", None, found, limit, thickness_mm=thickness * MM_PER_M)
