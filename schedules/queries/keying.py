"""A revision as it is keyed into one kiln's controller: the keying card."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property

from django.template.loader import render_to_string

from schedules.core_inputs import (
    controller_of,
    core_segments,
    load_for,
    response_of,
    written_segments,
)
from schedules.models import Revision
from schedules.queries.opening import Opening, opening_of
from schedules.queries.planned import Planned, planned_in
from schedules.queries.remarks import RemarkList, remark_list, silenced_on
from schedules.queries.revision_page import planned_of
from schedules.services.curve import Segment
from schedules.services.keying import Card, Entry, Line, key_in
from schedules.services.merging import Merging, merges
from schedules.services.writing import SECONDS_PER_MINUTE, WrittenSegment, rewritten, to_core
from schedules.wording import LONGEST_REASON
from studio.formats import plain
from studio.models import Kiln


@dataclass(frozen=True)
class CardLine:
    """A line with the segment as it was written, where what is keyed is not that itself."""

    line: Line
    written: WrittenSegment
    told: list[Entry]


@dataclass(frozen=True)
class Shortened:
    """A way to fewer segments, as it would go in the kiln."""

    merging: Merging
    planned: Planned


@dataclass(frozen=True)
class KeyingCard:
    revision: Revision
    kiln: Kiln
    card: Card
    planned: Planned
    starts_at: datetime | None = None

    @property
    def unit(self) -> str:
        return self.card.controller.unit

    @property
    def is_converted(self) -> bool:
        return self.unit != self.revision.unit

    @cached_property
    def rows(self) -> list[CardLine]:
        source = written_segments(self.revision)
        return [
            CardLine(
                line,
                source[line.position - 1],
                [entry for entry in line.entries if entry.exact is not None],
            )
            for line in self.card.lines
        ]

    @property
    def is_rounded(self) -> bool:
        return any(row.told for row in self.rows)

    @property
    def lacks_full_power(self) -> bool:
        """Whether something is keyed for full power, and the kiln's record does not say what."""
        return any(
            entry.kind == "full_power" and not entry.keyed
            for line in self.card.lines
            for entry in line.entries
        )

    @cached_property
    def opening(self) -> Opening | None:
        """When it is cool enough, from the start that was planned, or from none."""
        return opening_of(self.planned.curve, self.starts_at)

    @cached_property
    def remarks(self) -> RemarkList:
        return remark_list(
            self.planned.found, self.unit, silenced=silenced_on(self.revision.schedule)
        )

    @cached_property
    def ways(self) -> list[Shortened]:
        """How it can be brought down to what the controller takes; empty where it fits."""
        return [
            Shortened(merging, _planned(self.revision, self.kiln, merging.segments))
            for merging in merges_of(self.revision, self.kiln, self.card)
        ]

    @property
    def keyed_as_written(self) -> list[WrittenSegment]:
        """What is keyed, in the revision's own unit: what was not rounded as it was written."""
        source = written_segments(self.revision)
        unit = self.revision.unit
        keyed = rewritten(to_core(self.card.keyed, self.unit), source, unit)
        return [
            replace(
                now,
                rate=now.rate if _differs(self.rows, position, "ramp") else own.rate,
                target=now.target if _differs(self.rows, position, "target") else own.target,
            )
            for position, (now, own) in enumerate(zip(keyed, source, strict=True), start=1)
        ]


def keying_card(revision: Revision, kiln: Kiln, starts_at: datetime | None = None) -> KeyingCard:
    controller = controller_of(kiln)
    planned = planned_of(revision, kiln, unit=controller.unit)
    assert planned is not None  # noqa: S101 - there is a kiln
    return KeyingCard(
        revision=revision,
        kiln=kiln,
        card=key_in(written_segments(revision), revision.unit, controller),
        planned=planned,
        starts_at=starts_at,
    )


def merges_of(revision: Revision, kiln: Kiln, card: Card) -> Sequence[Merging]:
    """Parts of what is too long for the controller take a segment each beside those written."""
    if card.fits:
        return ()
    segments, controller = core_segments(revision), card.controller
    extra = len(card.lines) - len(segments)
    longest = None if controller.longest is None else float(controller.longest * SECONDS_PER_MINUTE)
    room = controller.segments - extra
    return merges(segments, room, response_of(kiln), longest_hold=longest)


def shortened(revision: Revision, kiln: Kiln, way: int) -> tuple[list[WrittenSegment], str] | None:
    """The segments of one of the ways as they would be written, and the reason; None without it."""
    card = key_in(written_segments(revision), revision.unit, controller_of(kiln))
    ways = merges_of(revision, kiln, card)
    if way >= len(ways):
        return None
    written = rewritten(ways[way].segments, written_segments(revision), revision.unit)
    words = render_to_string(
        "schedules/shortened_reason.txt",
        {"way": ways[way], "kiln": kiln, "unit": revision.unit},
    )
    return written, " ".join(plain(words).split())[:LONGEST_REASON]


def _planned(revision: Revision, kiln: Kiln, segments: Sequence[Segment]) -> Planned:
    schedule = revision.schedule
    return planned_in(
        kiln=kiln,
        segments=segments,
        earlier=core_segments(revision),
        unit=kiln.controller_unit,
        process=schedule.process,
        load=load_for(schedule),
        family=schedule.family,
    )


def _differs(rows: Sequence[CardLine], position: int, field: str) -> bool:
    return any(
        entry.field == field for row in rows if row.line.position == position for entry in row.told
    )
