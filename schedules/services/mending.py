"""The smallest change of a schedule that satisfies a remark, in numbers that can be keyed.

A change touches the segment that a remark speaks of, or adds or joins segments where the remark
asks for that, and nothing else. Whether it mends anything is not assumed: each is checked anew.
"""

from collections import Counter
from collections.abc import Sequence

from schedules.services.case import Case, KilnLimits, Load, Remark, Severity
from schedules.services.checks import check
from schedules.services.curve import Segment
from schedules.services.mending_trials import trials

_WEIGHT: dict[Severity, int] = {"note": 0, "warn": 1, "block": 2}


def mended(
    segments: Sequence[Segment],
    remark: Remark,
    process: str,
    load: Load,
    kiln: KilnLimits,
    *,
    found: Sequence[Remark] | None = None,
) -> tuple[Segment, ...] | None:
    """The segments with the smallest change after which `remark` is not raised any more.

    No graver remark comes by the change; one as grave only where there is no other way, as a soak
    that is raised to where it counts may then turn out to be short.

    Parameters
    ----------
    segments : in display temperatures of this kiln, °C/h, °C and s
    remark : one of those that `check` finds for them
    process : code of the process, as "full_fuse"
    load, kiln : see `Load`, `KilnLimits`; changed numbers are round in the kiln's `unit` and
        `resolution`
    found : all that `check` finds for them, where that is known already

    Returns
    -------
    All segments, the unchanged ones as they were; None where no number mends it.

    Examples
    --------
    >>> from studio.services.glass import Glass
    >>> plan = [Segment(150.0, 670.0, 1800.0), Segment(330.0, 804.0, 600.0),
    ...         Segment(None, 482.0, 1200.0), Segment(80.0, 370.0)]
    >>> load, kiln = Load(Glass(493.0, 532.0, 677.0)), KilnLimits(930.0)
    >>> [remark] = check(plan, "full_fuse", load, kiln)
    >>> remark.code, remark.segment, remark.figure / 60
    ('soak_short', 2, 20.0)
    >>> mended(plan, remark, "full_fuse", load, kiln)[2]
    Segment(rate=None, target=482.0, hold=3600.0)
    """
    plan = tuple(segments)
    if remark.remedy is None:
        return None
    before = Counter(
        each.code for each in (check(plan, process, load, kiln) if found is None else found)
    )
    second_best = None
    for trial in trials(Case(plan, process, load, kiln), remark):
        after = check(trial, process, load, kiln)
        if _is_left(remark, before, after, same_places=len(trial) == len(plan)):
            continue
        heaviest = _heaviest_new(remark, before, after)
        if heaviest < _WEIGHT[remark.severity]:
            return trial
        if heaviest == _WEIGHT[remark.severity] and second_best is None:
            second_best = trial
    return second_best


def _is_left(
    remark: Remark, before: Counter[str], after: Sequence[Remark], *, same_places: bool
) -> bool:
    """Whether the remark is still there; by its place, or, where places moved, by its number."""
    alike = [each for each in after if each.code == remark.code]
    if same_places:
        return any(each.segment == remark.segment for each in alike)
    return len(alike) >= before[remark.code]


def _heaviest_new(remark: Remark, before: Counter[str], after: Sequence[Remark]) -> int:
    """The weight of the gravest remark that was not there before, or has come where the mended one
    went, as from one stage of cooling to the next; -1 where there is none."""
    new = Counter(each.code for each in after) - (before - Counter([remark.code]))
    return max((_WEIGHT[each.severity] for each in after if new[each.code] > 0), default=-1)
