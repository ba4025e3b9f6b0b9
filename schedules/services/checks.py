"""What speaks against firing a schedule with a load in a kiln.

Each rule is a function from a `Case` to remarks; `KILN_RULES`, `LOAD_RULES` and `GLASS_RULES` name
them all. A remark is data: a code, the figure and the limit that it missed, and what would mend it;
pages find the words.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence

from schedules.services import (
    annealing_rules,
    heating_rules,
    kiln_rules,
    load_rules,
    mould_rules,
    top_rules,
)
from schedules.services.case import COOLED, Case, KilnLimits, Load, Remark, Remedy, Severity
from schedules.services.curve import Segment

__all__ = [
    "GLASS_RULES",
    "KILN_RULES",
    "LOAD_RULES",
    "KilnLimits",
    "Load",
    "Remark",
    "Remedy",
    "Severity",
    "check",
    "check_case",
    "check_piece",
]

Rule = Callable[[Case], Iterator[Remark]]


def check(
    segments: Sequence[Segment],
    process: str,
    load: Load,
    kiln: KilnLimits,
    *,
    opening: float = COOLED,
) -> list[Remark]:
    """Whatever speaks against firing these segments, the gravest first.

    Parameters
    ----------
    segments : in display temperatures of this kiln
    process : code of the process, as "full_fuse"
    load, kiln : see `Load`, `KilnLimits`
    opening : °C of the display at which the kiln is to be opened

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
    return check_case(Case(tuple(segments), process, load, kiln, opening))


def check_case(case: Case) -> list[Remark]:
    """What `check` says of a case, which keeps the curve and the stress that were worked out.

    Examples
    --------
    >>> case = Case((Segment(150.0, 950.0),), "full_fuse", Load(), KilnLimits(900.0))
    >>> [remark.code for remark in check_case(case)]
    ['target_above_kiln_limit']
    """
    remarks = _found(case, KILN_RULES)
    if all(remark.severity != "block" for remark in remarks):
        remarks += _found(case, (*LOAD_RULES, *GLASS_RULES))
    return sorted(remarks, key=_gravity)


def check_piece(
    segments: Sequence[Segment],
    process: str,
    load: Load,
    kiln: KilnLimits,
    *,
    opening: float = COOLED,
) -> list[Remark]:
    """What speaks against one piece of a load in this kiln, whatever its anneal is like: the rules
    that need no stress, and so cost next to nothing for each piece.

    Parameters and result as for `check`.

    Examples
    --------
    >>> [remark] = check_piece([Segment(150.0, 650.0, 600.0)], "drape", Load(mould="ceramic"),
    ...                        KilnLimits(930.0))
    >>> remark.code, remark.severity
    ('drape_over_ceramic', 'warn')
    """
    case = Case(tuple(segments), process, load, kiln, opening)
    return sorted(_found(case, LOAD_RULES), key=_gravity)


def _found(case: Case, rules: Iterable[Rule]) -> list[Remark]:
    return [remark for rule in rules for remark in rule(case)]


def _gravity(remark: Remark) -> tuple[int, int]:
    order = ("block", "warn", "note").index(remark.severity)
    return order, -1 if remark.segment is None else remark.segment


KILN_RULES: tuple[Rule, ...] = (
    kiln_rules.count,
    kiln_rules.rates,
    kiln_rules.holds,
    kiln_rules.movement,
    kiln_rules.kiln_limit,
    kiln_rules.reach,
    kiln_rules.longest_hold,
    kiln_rules.finest_rate,
)
LOAD_RULES: tuple[Rule, ...] = (
    load_rules.families,
    load_rules.reactions,
    load_rules.strikers,
    load_rules.size,
    mould_rules.suits,
    mould_rules.heat,
    mould_rules.drying,
    heating_rules.opening,
)
GLASS_RULES: tuple[Rule, ...] = (
    heating_rules.heating,
    heating_rules.passing_tension,
    top_rules.peak,
    top_rules.bubble_hold,
    top_rules.devitrification,
    annealing_rules.soak,
    annealing_rules.cooling,
)
"""These and those of the load are asked only of what the kiln can fire: one thing is mended after
the other."""
