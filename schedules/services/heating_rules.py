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
    if not case.is_glass or case.process in LAID_IN_PARTS:
        return
    limit = heating_rate_of_practice(case.load.thickest, case.process, case.thickness.wide)
    before = case.start + case.kiln.offset
    for index, (segment, target) in enumerate(zip(case.segments, case.targets, strict=True)):
        if before < case.load.glass.strain_point and before < target:
            rate = _rate(segment.rate, case.kiln.response, before - case.kiln.offset)
            if rate is not None and rate > TOLERANCE * limit:
                yield Remark("heating_fast", "warn", index, rate, limit, Remedy("set_rate", limit))
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
