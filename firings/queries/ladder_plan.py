"""A test series as it is thought of: what its rungs are worth, what speaks against them, and when
each could be fired."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.utils import timezone
from django.utils.timezone import localtime

from firings.models import Varies
from firings.queries.booking import span_of_plan, taken_spans
from firings.queries.tuning_page import Tuning
from firings.services.decision import AS_WANTED
from firings.services.ladder import USUAL_RUNGS, suggest_holds, suggest_peaks
from firings.services.occupancy import Span, next_free
from firings.services.top import find_top
from firings.services.what_if import foretold
from schedules.core_inputs import (
    core_segments,
    curve_of,
    kiln_limits_of,
    load_for,
    written_segments,
)
from schedules.models import Revision
from schedules.queries.remarks import remark_list, silenced_on
from schedules.services.case import Case
from schedules.services.checks import Remark, check_case
from schedules.services.curve import Segment
from schedules.services.writing import SECONDS_PER_MINUTE, WrittenSegment, to_core
from schedules.wording import RemarkLine, remark_key
from studio.models import Kiln
from studio.services.units import from_celsius

LONGEST_WAIT_DAYS = 100
CENT = Decimal("0.01")


@dataclass(frozen=True)
class LadderPlan:
    """What is stepped, as written: degrees of the revision's unit, or minutes of hold."""

    varies: str
    first: Decimal
    step: Decimal
    count: int

    @property
    def values(self) -> list[Decimal]:
        return [self.first + number * self.step for number in range(self.count)]

    def written(self, revision: Revision) -> list[list[WrittenSegment]]:
        """The segments of each rung: the revision's, with another top."""
        index = find_top(core_segments(revision)).index
        rungs = []
        for value in self.values:
            segments = written_segments(revision)
            top = segments[index]
            peak, hold = (value, top.hold_minutes)
            if self.varies == Varies.HOLD:
                peak, hold = top.target, value
            segments[index] = WrittenSegment(top.rate, peak, hold)
            rungs.append(segments)
        return rungs


@dataclass(frozen=True)
class ThoughtRung:
    """A rung before it is made.

    `peak` is °C and `hold` s; `worth` the °C of peak by which its heat work differs from that of
    the schedule as it stands, and `chance` that of "as wanted", both None where heat work says
    nothing. `remarks` is what speaks against it and not already against the schedule; where it
    `moves_top`, another segment would be the highest.
    """

    number: int
    peak: float
    hold: float
    worth: float | None
    chance: float | None
    remarks: list[RemarkLine]
    moves_top: bool

    @property
    def blocks(self) -> list[RemarkLine]:
        return [each for each in self.remarks if each.severity == "block"]


def suggested(tuning: Tuning, varies: str, count: int = USUAL_RUNGS) -> LadderPlan | None:
    """As the advice would step it, written in the unit of the newest revision; None where heat
    work says nothing of the schedule."""
    if tuning.history is None:
        return None
    if varies == Varies.HOLD:
        span = suggest_holds(tuning.history, tuning.limits, count)
        first, step = (
            Decimal(round(each / SECONDS_PER_MINUTE)) for each in (span.first, span.step)
        )
        return LadderPlan(varies, first, step, count)
    span = suggest_peaks(tuning.history, tuning.limits, count)
    unit = tuning.newest.unit
    first, second = (Decimal(from_celsius(each, unit)).quantize(CENT) for each in span.values[:2])
    return LadderPlan(varies, first, second - first, count)


def thought_rungs(plan: LadderPlan, newest: Revision, kiln: Kiln, unit: str) -> list[ThoughtRung]:
    """What each rung would be in this kiln, and what speaks against it, in the reader's unit."""
    return list(_thought(plan, newest, kiln, unit, [None] * plan.count))


def foretold_rungs(plan: LadderPlan, tuning: Tuning, unit: str) -> list[ThoughtRung]:
    """The same with what each is worth, and how likely it comes out as wanted."""
    assert tuning.kiln is not None  # noqa: S101  the page asks for a kiln first
    told: list[tuple[float, float] | None] = [None] * plan.count
    if tuning.history is not None:
        top = tuning.top
        tops = [find_top(to_core(each, tuning.newest.unit)) for each in plan.written(tuning.newest)]
        changes = [(each.peak - top.peak, each.hold - top.hold) for each in tops]
        told = [
            (each.worth, each.chances[AS_WANTED])
            for each in foretold(tuning.history, tuning.limits, changes)
        ]
    return list(_thought(plan, tuning.newest, tuning.kiln, unit, told))


def rung_spans(
    revisions: Sequence[Revision], kiln: Kiln, starts_at: datetime, *, daily: bool = False
) -> list[Span] | None:
    """When each could hold the kiln, one after another: the next starts once the one before is
    cool enough to open, as late as nine of ten are, and once the kiln is free; where `daily`, at
    the first's time of day.

    None where it never gets to a target, or nobody knows when it is free.
    """
    taken, at, spans = taken_spans(kiln, timezone.now()), starts_at, []
    for revision in revisions:
        curve = curve_of(revision, kiln)
        wanted = span_of_plan(curve, at)
        if wanted is None or wanted.ends is None:
            return None
        free = _free(wanted.ends - wanted.starts, at, taken, starts_at if daily else None)
        span = None if free is None else span_of_plan(curve, free)
        if span is None or span.ends is None:
            return None
        spans.append(span)
        at = span.ends
    return spans


def _free(
    length: timedelta, earliest: datetime, taken: Sequence[Span], like: datetime | None
) -> datetime | None:
    """The first moment at which the kiln is free for so long, at the time of day of `like`."""
    free = next_free(length, earliest, taken)
    for _ in range(LONGEST_WAIT_DAYS):
        if free is None or like is None:
            return free
        moved = _time_of_day_after(free, like)
        free = next_free(length, moved, taken)
        if free == moved:
            return free
    return None


def _time_of_day_after(moment: datetime, like: datetime) -> datetime:
    """The next moment at the time of day of `like`, by the studio's clock."""
    day, clock = localtime(moment).date(), localtime(like).time()
    at = timezone.make_aware(datetime.combine(day, clock))
    if at < moment:
        at = timezone.make_aware(datetime.combine(day + timedelta(days=1), clock))
    return at


def _thought(
    plan: LadderPlan,
    newest: Revision,
    kiln: Kiln,
    unit: str,
    told: Sequence[tuple[float, float] | None],
) -> Iterator[ThoughtRung]:
    known = {remark_key(each) for each in _found(newest, kiln, core_segments(newest))}
    stands, silenced = find_top(core_segments(newest)), silenced_on(newest.schedule)
    for number, (written, foreseen) in enumerate(
        zip(plan.written(newest), told, strict=True), start=1
    ):
        segments = to_core(written, newest.unit)
        found = _found(newest, kiln, segments)
        new = [each for each in found if remark_key(each) not in known or each.severity == "block"]
        top = segments[stands.index]
        worth, chance = foreseen or (None, None)
        yield ThoughtRung(
            number=number,
            peak=top.target,
            hold=top.hold,
            worth=worth,
            chance=chance,
            remarks=remark_list(new, unit, silenced=silenced).lines,
            moves_top=find_top(segments).index != stands.index,
        )


def _found(newest: Revision, kiln: Kiln, segments: Sequence[Segment]) -> list[Remark]:
    schedule = newest.schedule
    case = Case(tuple(segments), schedule.process, load_for(schedule), kiln_limits_of(kiln))
    return check_case(case)
