"""Whether a mould goes with the process, and bears the heat.

All of it common practice, no source; the mould maker's sheet wins. Nothing is said where it is not
known what a piece lies on or in.
"""

from collections.abc import Iterator

from schedules.services.case import Case, Remark, Remedy

SHAPED = ("slump", "drape")
"""Processes that take their form from a mould."""
MELTED = ("full_fuse", "contour_fuse", "tack_fuse")
"""Processes for a flat shelf, in which glass flows into whatever holds it."""

HOTTEST_STEEL = 800.0
"""°C of the glass above which a steel mould scales and sheds its wash."""
HOTTEST_PLASTER = 870.0
"""°C of the glass above which plaster bound with silica crumbles."""
DRYING_RANGE = (90.0, 300.0)
"""°C at which an investment mould gives off its water."""
SHORTEST_DRYING = 3600.0
"""s there, by a hold or a slow rise, below which it is remarked on."""


def suits(case: Case) -> Iterator[Remark]:
    """A mould that the process wants and lacks, or that holds or breaks what is made in it.

    On cooling, steel shrinks more than glass and ceramic less: steel squeezes what lies in it, and
    glass squeezes the ceramic over which it hangs.
    """
    mould, process = case.load.mould, case.process
    if mould == "shelf" and process in SHAPED:
        yield Remark("no_mould_to_shape", "warn")
    elif mould == "shelf" and process == "cast":
        yield Remark("casting_without_mould", "note")
    elif mould == "steel" and process == "cast":
        yield Remark("casting_in_steel", "warn")
    elif mould == "ceramic" and process == "cast":
        yield Remark("casting_in_ceramic", "note")
    elif mould == "steel" and process == "slump":
        yield Remark("slump_in_steel", "note")
    elif mould == "ceramic" and process == "drape":
        yield Remark("drape_over_ceramic", "warn")
    elif mould in ("ceramic", "steel") and process in MELTED:
        yield Remark("fuse_in_mould", "warn" if process == "full_fuse" else "note")


def heat(case: Case) -> Iterator[Remark]:
    """The hottest target, in the glass, against what the mould bears."""
    if not case.segments:
        return
    found, mould, offset = case.targets[case.top], case.load.mould, case.kiln.offset
    if mould == "steel" and found > HOTTEST_STEEL:
        remedy = Remedy("lower_target", HOTTEST_STEEL - offset)
        yield Remark("steel_too_hot", "warn", case.top, found, HOTTEST_STEEL, remedy)
    elif mould == "plaster_silica" and found > HOTTEST_PLASTER:
        remedy = Remedy("lower_target", HOTTEST_PLASTER - offset)
        yield Remark("plaster_too_hot", "warn", case.top, found, HOTTEST_PLASTER, remedy)


def drying(case: Case) -> Iterator[Remark]:
    """An investment mould wants time to dry before it is heated on."""
    if case.load.mould != "plaster_silica" or case.firing is None:
        return
    found = case.time_between(*DRYING_RANGE, rising=True)
    if found < SHORTEST_DRYING:
        remedy = Remedy("add_drying_hold", 2 * SHORTEST_DRYING)
        yield Remark("mould_not_dried", "note", None, found, SHORTEST_DRYING, remedy)
