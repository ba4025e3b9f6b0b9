"""What speaks against firing a schedule with a load in a kiln.

Each rule is a function from a `Case` to remarks, and `RULES` names them all. A remark is data: a
code, the figure and the limit that it missed, and what would mend it; pages find the words.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import inf
from typing import Literal

from schedules.services.curve import Segment
from studio.services.glass import Glass
from studio.services.kiln_response import REACH, KilnResponse

Severity = Literal["block", "warn", "note"]

ROOM = 20.0
"""°C at which a firing starts where nothing is known of the kiln's room."""


@dataclass(frozen=True)
class Load:
    """What lies in the kiln.

    Parameters
    ----------
    glass : see `Glass`
    family : name of the family whose expansion it fits
    thickest, thinnest : m, of the pieces as laid up
    layers : how many sheets lie on each other
    width, length : m, of the widest piece
    """

    glass: Glass = field(default_factory=Glass)
    family: str = ""
    thickest: float = 0.006
    thinnest: float = 0.006
    layers: int = 2
    width: float = 0.2
    length: float = 0.2


@dataclass(frozen=True)
class KilnLimits:
    """What a kiln and its controller can do.

    Parameters
    ----------
    max_temperature : °C on the display that the kiln must not pass
    segments : how many the controller takes; None where that is not known
    resolution : °C, the controller's smallest step
    chamber : m, inside width, depth and height, or None
    response : how fast the kiln follows; None where that is not known
    offset : °C, glass minus display
    """

    max_temperature: float
    segments: int | None = None
    resolution: float = 1.0
    chamber: tuple[float, float, float] | None = None
    response: KilnResponse | None = None
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Remedy:
    """What would mend a remark: an act, and the value that it would take, if one can be named."""

    act: str
    value: float | None = None


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing that speaks against a schedule.

    Parameters
    ----------
    code : which rule
    severity : "block" where it must not be fired so, "warn", or "note"
    segment : index from 0, or None for the schedule as a whole
    figure : what was found, in the unit of its kind: °C, °C/h, s, or a count
    limit : what it was measured against, in the same unit, or None
    remedy : see `Remedy`, or None
    """

    code: str
    severity: Severity
    segment: int | None = None
    figure: float | None = None
    limit: float | None = None
    remedy: Remedy | None = None


@dataclass(frozen=True)
class Case:
    """All that a rule may look at."""

    segments: tuple[Segment, ...]
    process: str
    load: Load
    kiln: KilnLimits

    @cached_property
    def start(self) -> float:
        """°C at which the kiln starts."""
        return ROOM if self.kiln.response is None else self.kiln.response.ambient


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
    case = Case(tuple(segments), process, load, kiln)
    remarks = [remark for rule in RULES for remark in rule(case)]
    return sorted(remarks, key=_gravity)


def _gravity(remark: Remark) -> tuple[int, int]:
    order = ("block", "warn", "note").index(remark.severity)
    return order, -1 if remark.segment is None else remark.segment


def _count(case: Case) -> Iterator[Remark]:
    count, most = len(case.segments), case.kiln.segments
    if count == 0:
        yield Remark("no_segments", "block", figure=0, limit=1, remedy=Remedy("add_segment"))
    if most is not None and count > most:
        yield Remark(
            "too_many_segments",
            "block",
            figure=count,
            limit=most,
            remedy=Remedy("merge_segments", count - most),
        )


def _rates(case: Case) -> Iterator[Remark]:
    for index, segment in enumerate(case.segments):
        if segment.rate is not None and not 0 < segment.rate < inf:
            yield Remark(
                "rate_not_positive", "block", index, segment.rate, 0, Remedy("give_positive_rate")
            )


def _holds(case: Case) -> Iterator[Remark]:
    for index, segment in enumerate(case.segments):
        if not 0 <= segment.hold < inf:
            yield Remark("negative_hold", "block", index, segment.hold, 0, Remedy("set_hold", 0))


def _movement(case: Case) -> Iterator[Remark]:
    before = case.start
    for index, segment in enumerate(case.segments):
        if segment.target == before and segment.hold == 0:
            yield Remark(
                "target_does_not_move",
                "block",
                index,
                segment.target,
                before,
                Remedy("move_or_hold_target"),
            )
        before = segment.target


def _kiln_limit(case: Case) -> Iterator[Remark]:
    limit, offset = case.kiln.max_temperature, case.kiln.offset
    for index, segment in enumerate(case.segments):
        if not segment.target <= limit:
            yield Remark(
                "target_above_kiln_limit",
                "block",
                index,
                segment.target,
                limit,
                Remedy("lower_target", limit),
            )
        elif segment.target + offset > limit:
            yield Remark(
                "glass_above_kiln_limit",
                "warn",
                index,
                segment.target + offset,
                limit,
                Remedy("lower_target", limit - offset),
            )


def _reach(case: Case) -> Iterator[Remark]:
    response = case.kiln.response
    if response is None:
        return
    hottest, coldest = response.full_power_limit - REACH, response.ambient + REACH
    for index, segment in enumerate(case.segments):
        if segment.target >= hottest:
            yield Remark(
                "target_beyond_reach",
                "block",
                index,
                segment.target,
                hottest,
                Remedy("lower_target", hottest),
            )
        elif segment.target <= coldest:
            yield Remark(
                "target_at_room",
                "block",
                index,
                segment.target,
                coldest,
                Remedy("raise_target", coldest),
            )


RULES: tuple[Callable[[Case], Iterator[Remark]], ...] = (
    _count,
    _rates,
    _holds,
    _movement,
    _kiln_limit,
    _reach,
)
