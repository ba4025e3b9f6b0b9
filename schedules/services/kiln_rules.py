"""What a kiln and its controller can't do, and numbers that no controller takes."""

from collections.abc import Iterator
from math import inf

from schedules.services.case import Case, Remark, Remedy
from studio.services.kiln_response import REACH


def count(case: Case) -> Iterator[Remark]:
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


def rates(case: Case) -> Iterator[Remark]:
    for index, segment in enumerate(case.segments):
        if segment.rate is not None and not 0 < segment.rate < inf:
            yield Remark(
                "rate_not_positive", "block", index, segment.rate, 0, Remedy("give_positive_rate")
            )


def holds(case: Case) -> Iterator[Remark]:
    for index, segment in enumerate(case.segments):
        if not 0 <= segment.hold < inf:
            yield Remark("negative_hold", "block", index, segment.hold, 0, Remedy("set_hold", 0))


def movement(case: Case) -> Iterator[Remark]:
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


def kiln_limit(case: Case) -> Iterator[Remark]:
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


def reach(case: Case) -> Iterator[Remark]:
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


def longest_hold(case: Case) -> Iterator[Remark]:
    """A hold beyond the controller's longest is keyed in parts."""
    longest = case.kiln.longest_hold
    for index, segment in enumerate(case.segments):
        if longest is not None and longest < segment.hold < inf:
            yield Remark(
                "hold_beyond_controller",
                "note",
                index,
                segment.hold,
                longest,
                Remedy("split_hold", longest),
            )


def finest_rate(case: Case) -> Iterator[Remark]:
    """A rate below the controller's smallest step can't be keyed."""
    step = case.kiln.resolution
    for index, segment in enumerate(case.segments):
        if segment.rate is not None and 0 < segment.rate < step * (1 - 1e-6):
            yield Remark(
                "rate_below_step", "warn", index, segment.rate, step, Remedy("set_rate", step)
            )
