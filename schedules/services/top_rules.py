"""The way to the top and the top itself: bubbles, crystals, and the process's range."""

from collections.abc import Iterator

from schedules.services.case import Case, Remark, Remedy
from schedules.services.process_ranges import DEVITRIFICATION, peak_range
from schedules.services.working_temperatures import softening_shift

PEAK_TOLERANCE = 15.0
"""°C beyond a process's range that a peak may lie: the ranges of the trade differ by as much."""
USUAL_SOFTENING = (660.0, 735.0)
"""°C: softening points of the fusing and float glasses for which those ranges are handed on."""
STACKED = ("full_fuse", "contour_fuse", "tack_fuse")
BUBBLE_RANGE = (590.0, 690.0)
"""°C between which sheets settle on each other before their edges seal; common practice, no
source, widened by 10 °C."""
SHORTEST_BUBBLE_TIME = 15 * 60.0
"""s in that range, by a hold or a slow ramp; half of what practice recommends."""
LARGE_SHEET = 0.15
"""m: a sheet wider than this traps air that it can't let go at its rim; common practice."""
CRYSTALS_SEEN = 3600.0
"""s in the devitrification range after which crystals are seen; common practice, no source."""


def peak(case: Case) -> Iterator[Remark]:
    """The highest target, in the glass, against the range of its process: wider by as much as the
    glass is harder or softer than the usual one."""
    usual = peak_range(case.process)
    low, high = USUAL_SOFTENING
    if usual is None or not case.segments or not low <= case.load.glass.softening_point <= high:
        return
    found, offset = case.targets[case.top], case.kiln.offset
    shift = softening_shift(case.load.glass)
    highest, lowest = usual.high + max(shift, 0.0), usual.low + min(shift, 0.0)
    if found > highest + PEAK_TOLERANCE:
        remedy = Remedy("lower_target", highest - offset)
        yield Remark("peak_above_range", "warn", case.top, found, highest, remedy)
    elif found < lowest - PEAK_TOLERANCE:
        remedy = Remedy("raise_target", lowest - offset)
        yield Remark("peak_below_range", "warn", case.top, found, lowest, remedy)


def bubble_hold(case: Case) -> Iterator[Remark]:
    """Stacked sheets want time below the temperature at which their edges seal."""
    if case.process not in STACKED or case.load.layers < 2 or case.firing is None:
        return
    found = case.time_between(*BUBBLE_RANGE, rising=True)
    if found < SHORTEST_BUBBLE_TIME and case.targets[case.top] > BUBBLE_RANGE[1]:
        large = max(case.load.width, case.load.length) > LARGE_SHEET
        yield Remark(
            "bubble_hold_short",
            "warn" if large else "note",
            figure=found,
            limit=SHORTEST_BUBBLE_TIME,
            remedy=Remedy("add_bubble_hold", 2 * SHORTEST_BUBBLE_TIME),
        )


def devitrification(case: Case) -> Iterator[Remark]:
    """Time in the range where crystals grow; a tack fuse has its top there and counts twofold.
    Where the top lies there, what it makes of the glass goes before."""
    if not case.is_glass or case.firing is None:
        return
    found = case.time_between(DEVITRIFICATION.low, DEVITRIFICATION.high)
    limit = CRYSTALS_SEEN * (2 if case.process == "tack_fuse" else 1)
    if found > limit:
        works_there = case.targets[case.top] in DEVITRIFICATION
        remedy = None if works_there else Remedy("pass_crystals")
        yield Remark("long_in_devitrification", "note", None, found, limit, remedy)
