"""What speaks against firing a schedule with a load in a kiln.

Each rule is a function from a `Case` to remarks; `KILN_RULES` and `GLASS_RULES` name them all. A
remark is data: a code, the figure and the limit that it missed, and what would mend it; pages find
the words.
"""

from collections.abc import Callable, Iterator, Sequence

from schedules.services import annealing_rules, heating_rules, kiln_rules, load_rules, top_rules
from schedules.services.case import Case, KilnLimits, Load, Remark, Remedy, Severity
from schedules.services.curve import Segment

__all__ = [
    "GLASS_RULES",
    "KILN_RULES",
    "KilnLimits",
    "Load",
    "Remark",
    "Remedy",
    "Severity",
    "check",
    "check_case",
]


def check(segments: Sequence[Segment], process: str, load: Load, kiln: KilnLimits) -> list[Remark]:
    """Whatever speaks against firing these segments, the gravest first.

    Parameters
    ----------
    segments : in display temperatures of this kiln
    process : code of the process, as "full_fuse"
    load, kiln : see `Load`, `KilnLimits`

    Returns
    -------
    Remarks, first those that block, then in the order of the segments; empty where nothing does.

    Examples
    --------
    >>> [remark] = check([Segment(150.0, 950.0, 600.0)], "full_fuse", Load(),
    ...                  KilnLimits(max_temperature=900.0))
    >>> remark.code, remark.severity, remark.segment, remark.figure, remark.limit
    ('target_above_kiln_limit', 'block', 0, 950.0, 900.0)
    """
    return check_case(Case(tuple(segments), process, load, kiln))


def check_case(case: Case) -> list[Remark]:
    """What `check` says of a case, which keeps the curve and the stress that were worked out.

    Examples
    --------
    >>> case = Case((Segment(150.0, 950.0),), "full_fuse", Load(), KilnLimits(900.0))
    >>> [remark.code for remark in check_case(case)]
    ['target_above_kiln_limit']
    """
    remarks = [remark for rule in KILN_RULES for remark in rule(case)]
    if all(remark.severity != "block" for remark in remarks):
        remarks += [remark for rule in GLASS_RULES for remark in rule(case)]
    return sorted(remarks, key=_gravity)


def _gravity(remark: Remark) -> tuple[int, int]:
    order = ("block", "warn", "note").index(remark.severity)
    return order, -1 if remark.segment is None else remark.segment


Rule = Callable[[Case], Iterator[Remark]]

KILN_RULES: tuple[Rule, ...] = (
    kiln_rules.count,
    kiln_rules.rates,
    kiln_rules.holds,
    kiln_rules.movement,
    kiln_rules.kiln_limit,
    kiln_rules.reach,
    kiln_rules.finest_rate,
)
GLASS_RULES: tuple[Rule, ...] = (
    load_rules.families,
    load_rules.size,
    heating_rules.heating,
    heating_rules.passing_tension,
    top_rules.peak,
    top_rules.bubble_hold,
    top_rules.devitrification,
    annealing_rules.soak,
    annealing_rules.cooling,
)
"""Asked only of what the kiln can fire: one thing is mended after the other."""
