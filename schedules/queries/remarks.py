"""What speaks against a schedule, as its pages show it: three at once, what would mend them, and
what somebody silenced."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from schedules.core_inputs import silenced_of
from schedules.models import Schedule, SilencedRemark
from schedules.services.case import Case
from schedules.services.checks import Remark
from schedules.services.difference import difference
from schedules.services.mending import mended
from schedules.services.silencing import silencing
from schedules.services.writing import WrittenSegment, rewritten
from schedules.wording import RemarkLine, change_reason, change_words, remark_line
from studio.services.units import rate_to_celsius

AT_ONCE = 3


@dataclass(frozen=True)
class Mending:
    """The smallest change that satisfies a remark: all segments as they would be written, the
    change in words, and the reason for it that a revision may carry."""

    written: list[WrittenSegment]
    words: str
    reason: str


@dataclass(frozen=True)
class HeardRemark:
    remark: Remark
    line: RemarkLine
    mending: Mending | None = None

    @property
    def may_be_silenced(self) -> bool:
        return self.remark.severity != "block"


@dataclass(frozen=True)
class StilledRemark:
    """A remark that is not heard, with who silenced it and why."""

    line: RemarkLine
    row: SilencedRemark


@dataclass(frozen=True)
class RemarkList:
    """`heard` and `silenced`: the gravest first."""

    heard: list[HeardRemark]
    silenced: list[StilledRemark]

    @property
    def lines(self) -> list[RemarkLine]:
        """In words, all that are heard."""
        return [each.line for each in self.heard]

    @property
    def shown(self) -> list[HeardRemark]:
        return self.heard[:AT_ONCE]

    @property
    def more(self) -> list[HeardRemark]:
        return self.heard[AT_ONCE:]

    @property
    def above(self) -> list[HeardRemark]:
        """Those of the shown that speak of the schedule as a whole."""
        return self.beside(None)

    def beside(self, position: int | None) -> list[HeardRemark]:
        return [each for each in self.shown if each.line.position == position]

    def named(self, key: str) -> HeardRemark | None:
        return next((each for each in self.heard if each.line.key == key), None)

    def mending_of(self, key: str, words: str | None) -> Mending | None:
        """What satisfies the remark of that key, where it is still the change that was read."""
        heard = self.named(key)
        if heard is None or heard.mending is None or heard.mending.words != words:
            return None
        return heard.mending


Mends = Callable[[Remark], Mending | None]

_GRAVITY = ("block", "warn", "note")


@dataclass(frozen=True)
class FoundRemark:
    """A remark in words, with what finds the change that satisfies it, where one may be asked."""

    remark: Remark
    line: RemarkLine
    mends: Mends | None = None


def remark_list(
    found: Iterable[Remark],
    unit: str,
    *,
    silenced: Iterable[SilencedRemark] = (),
    positions: Sequence[int] | None = None,
    mends: Mends | None = None,
) -> RemarkList:
    """What is heard and what is silent of the remarks that one check found, in the reader's unit.

    `silenced` are rows of its schedule; `positions`: where each segment stands on the page, from 1,
    if not simply in its order; `mends` finds the change that satisfies a remark, and is asked for
    those that are shown at once.
    """
    lines = (FoundRemark(each, remark_line(each, unit, positions), mends) for each in found)
    return heard_of(lines, silenced=silenced)


def heard_of(
    found: Iterable[FoundRemark], *, silenced: Iterable[SilencedRemark] = ()
) -> RemarkList:
    """The same of remarks that several checks found; among equally grave ones their order stays."""
    rows = {silenced_of(row): row for row in silenced}
    heard: list[HeardRemark] = []
    stilled: list[StilledRemark] = []
    for each in sorted(found, key=lambda each: _GRAVITY.index(each.line.severity)):
        by = silencing(each.remark, rows)
        if by is not None:
            stilled.append(StilledRemark(each.line, rows[by]))
            continue
        mends = each.mends if len(heard) < AT_ONCE else None
        mending = None if mends is None else mends(each.remark)
        heard.append(HeardRemark(each.remark, each.line, mending))
    return RemarkList(heard, stilled)


def acts_on_revision(*, may_mend: bool) -> str:
    """The template of what can be done about a remark on a revision: by whoever may write its next
    one, or in a schedule of the reader's own."""
    return f"schedules/_acts_{'to_revise' if may_mend else 'in_a_copy'}.html"


def silenced_on(schedule: Schedule | None) -> list[SilencedRemark]:
    """What is silenced for a schedule now, with who did it."""
    if schedule is None:
        return []
    rows = schedule.silenced_remarks.filter(heard_again_at=None)
    return list(rows.select_related("silenced_by"))


def mends_in(
    case: Case, found: Sequence[Remark] | None, written: Sequence[WrittenSegment], unit: str
) -> Mends:
    """Finds the smallest change of segments that are written in `unit`, in figures that are round
    there: the kiln's own where its controller shows that unit, else whole degrees. `found`: all
    that a check says of the case, where that is known already."""
    kiln = case.kiln
    if kiln.unit != unit:
        kiln = replace(kiln, unit=unit, resolution=float(rate_to_celsius(1.0, unit)))

    def mends(remark: Remark) -> Mending | None:
        after = mended(case.segments, remark, case.process, case.load, kiln, found=found)
        if after is None:
            return None
        now = rewritten(after, written, unit)
        change = change_words(remark, difference(written, now), unit)
        return Mending(now, change, change_reason(remark, change, unit))

    return mends
