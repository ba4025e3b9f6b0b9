"""Firings by kiln and day: those on record, and those of earlier rows of the same file."""

import datetime as dt
from bisect import bisect_left, insort
from collections.abc import Sequence
from dataclasses import dataclass, field

from firings.services.past.cells import When, Who
from firings.services.past.known import KnownFiring, NewFiring, Past
from studio.services.lists.fates import RefusedError
from studio.services.lists.values import folded


@dataclass
class Standing:
    """A firing in its kiln. `lines` tells by piece in which line of the file it stands."""

    kiln: int
    when: When
    schedule: str
    pieces: list[tuple[str, int]]
    known: KnownFiring | None = None
    first: NewFiring | None = None
    lines: dict[tuple[str, ...], int] = field(default_factory=dict)

    @property
    def label(self) -> str:
        """As a reason calls it."""
        return f"firing {self.known.key}" if self.known else f"line {min(self.lines.values())}"

    def is_at(self, when: When) -> bool:
        """Whether it began then, as far as both are known."""
        if self.when.knows_time and when.knows_time:
            return self.when.starts == when.starts
        return self.when.starts.date() == when.starts.date()

    def has(self, who: Who) -> bool:
        """Whether these pieces are in its load; by title alone where no maker is told."""
        titles = [folded(title) for title in who.titles]
        if folded(who.words) == folded("; ".join(title for title, _ in self.pieces)):
            return True  # as the logbook saves it, whatever the titles hold
        there = {title for title, _ in self.pieces}
        if not (who.is_said and who.is_clear):
            return there.issuperset(titles)
        return set(self.pieces).issuperset(zip(titles, who.makers, strict=False))


class Stands:
    """All firings that rows could be, found by kiln and day."""

    def __init__(self, past: Past) -> None:
        names = {schedule.key: folded(schedule.name) for schedule in past.schedules}
        self._by_day: dict[tuple[int, dt.date], list[Standing]] = {}
        self._by_number: dict[int, Standing] = {}
        self._spans: dict[int, list[tuple[dt.datetime, dt.datetime, str]]] = {}
        for firing in past.firings:
            if firing.starts is None:
                continue
            when = When(firing.starts, firing.knows_time, firing.ends)
            pieces = [(folded(piece.title), piece.maker) for piece in firing.pieces]
            stands = Standing(firing.kiln, when, names[firing.schedule], pieces, known=firing)
            self._by_number[firing.key] = stands
            self._add(stands, stands.label)

    def find(self, kiln: int, when: When, schedule: str, who: Who) -> Standing | None:
        """The firing that a row is of: one of that kiln and time, whose schedule and pieces agree
        best. None where there is none.

        Raises `RefusedError` "two_that_day" where another schedule was fired on the day, and no
        time tells them apart.
        """
        there = [
            each for each in self._by_day.get((kiln, when.starts.date()), []) if each.is_at(when)
        ]
        alike = [each for each in there if each.schedule == folded(schedule)]
        with_piece = [each for each in alike if each.has(who)]
        if found := with_piece or alike:
            return found[0]
        timed = [each for each in there if each.when.knows_time and when.knows_time]
        if timed:
            return timed[0]
        if there:
            raise RefusedError("two_that_day", "started", other=there[0].label)
        return None

    def of_number(self, number: int | None, kiln: int, schedule: str) -> Standing | None:
        """By the number that it has on record, where kiln and schedule are those of the row."""
        found = self._by_number.get(number or 0)
        if found is None or (found.kiln, found.schedule) != (kiln, folded(schedule)):
            return None
        return found

    def require_free(self, kiln: int, when: When, lasts_s: int | None) -> None:
        """Raises `RefusedError` "kiln_taken" where another firing was in the kiln then."""
        if not when.knows_time:
            return
        ends = _ends(when, lasts_s)
        spans = self._spans.get(kiln, [])
        at = bisect_left(spans, (when.starts,))
        for starts, until, label in spans[max(at - 1, 0) : at + 1]:
            if starts < ends and until > when.starts:
                raise RefusedError("kiln_taken", "started", other=label)

    def keep(self, kiln: int, when: When, schedule: str, first: NewFiring) -> Standing:
        """Take in the firing of a row."""
        stands = Standing(kiln, when, folded(schedule), [], first=first)
        self._add(stands, f"line {first.line}", first.duration)
        return stands

    def _add(self, stands: Standing, label: str, lasts_s: int | None = None) -> None:
        when = stands.when
        self._by_day.setdefault((stands.kiln, when.starts.date()), []).append(stands)
        if when.knows_time:
            span = (when.starts, _ends(when, lasts_s), label)
            insort(self._spans.setdefault(stands.kiln, []), span)


def _ends(when: When, lasts_s: int | None) -> dt.datetime:
    """As far as it is known: never before a minute after its start."""
    if when.opens is not None:
        return when.opens
    return when.starts + dt.timedelta(seconds=max(lasts_s or 0, 60))


def keys_of(titles: Sequence[str], makers: Sequence[int]) -> list[tuple[str, int]]:
    """Pieces as they are told apart: by title and maker."""
    return [(folded(title), maker) for title, maker in zip(titles, makers, strict=False)]
