"""What becomes of each row of a list of past firings.

A firing is known by its kiln and start, a piece in it by title and maker. Rows that agree in kiln,
start and schedule are one firing, each with its piece. What is on record is never changed.
"""

import datetime as dt
from collections.abc import Mapping

from firings.services.past.cells import Cells, Seen, When, Who
from firings.services.past.known import (
    KnownFiring,
    KnownKiln,
    NewFiring,
    NewRevision,
    Past,
    PastPiece,
)
from firings.services.past.revisions import Revisions
from firings.services.past.showing import shown
from firings.services.past.standing import Standing, Stands, keys_of
from studio.services.lists.fates import NEW, REFUSED, SAME, Judged, RefusedError
from studio.services.lists.values import Reading, folded

PEAK_SAME_C = 0.6
"""A peak that comes back from a list rounded to a whole °F is at most 0.3 °C off."""
HOLD_SAME_S = 60


class PastJudge:
    """Judges the rows of one file, in their order."""

    def __init__(self, past: Past, reading: Reading, now: dt.datetime) -> None:
        """`now` is the time by the studio's clock, without its zone."""
        self._past = past
        self._cells = Cells(past, reading, now)
        self._revisions = Revisions(past, reading, self._cells)
        self._stands = Stands(past)

    def judge(self, line: int, cells: Mapping[str, str]) -> Judged:
        """What becomes of a row.

        Parameters
        ----------
        line : of the file, from 1
        cells : by the name of their column; a missing or empty one says nothing
        """
        says = " ".join((cells.get("pieces") or cells.get("title") or "").split())[:80]
        try:
            return self._judged(line, cells, says)
        except RefusedError as refused:
            return Judged(line, REFUSED, says, refused.reason)

    def _judged(self, line: int, cells: Mapping[str, str], says: str) -> Judged:
        kiln, schedule = self._cells.kiln(cells), self._cells.schedule(cells)
        number = self._cells.number(cells, "firing")
        if self._is_to_come(cells):
            return self._not_over(line, number, kiln, schedule, cells, says)
        when, who = self._cells.when(cells), self._cells.who(cells)
        day = f"{when.starts:%-d %b %Y}"
        says = ", ".join(filter(None, (says or schedule, kiln.name, day)))
        of_row = self._cells.unit(cells)
        seen = self._cells.seen(cells, kiln, of_row)
        stands = self._stands.of_number(number, kiln.key, schedule)
        if stands is not None and not stands.is_at(when):
            raise RefusedError("starts_otherwise", "started", firing=number)
        stands = stands or self._stands.find(kiln.key, when, schedule, who)
        if stands is not None and stands.known is not None:
            return self._on_record(line, stands, stands.known, schedule, who, seen, says)
        try:
            return self._new(line, stands, kiln, when, schedule, who, seen, cells, of_row, says)
        except RefusedError as refused:
            return Judged(line, REFUSED, says, refused.reason)

    def _is_to_come(self, cells: Mapping[str, str]) -> bool:
        state = folded(cells.get("state", ""))
        return state in {folded(each) for each in self._past.words.states}

    def _not_over(
        self,
        line: int,
        number: int | None,
        kiln: KnownKiln,
        schedule: str,
        cells: Mapping[str, str],
        says: str,
    ) -> Judged:
        """What is planned, runs or was called off: it stands here as it is, or is refused."""
        keys = {each.key for each in self._revisions.named(schedule)}
        for firing in self._past.firings:
            if firing.key == number and firing.kiln == kiln.key and firing.schedule in keys:
                return Judged(line, SAME, says)
        raise RefusedError("not_over", "state", cell=cells["state"], over=self._past.words.over)

    def _on_record(
        self,
        line: int,
        stands: Standing,
        known: KnownFiring,
        schedule: str,
        who: Who,
        seen: Seen,
        says: str,
    ) -> Judged:
        if stands.schedule != folded(schedule):
            raise RefusedError("other_schedule", "schedule", firing=known.key, cell=schedule)
        pieces = tuple(folded(title) for title in who.titles)
        earlier = stands.lines.setdefault(pieces, line)
        if earlier != line:
            raise RefusedError("row_twice", line=earlier)
        if not stands.has(who):
            raise RefusedError("piece_not_there", "pieces", firing=known.key, cell=who.words)
        if not pieces or pieces[0] == folded(known.pieces[0].title if known.pieces else ""):
            self._as_on_record(known, seen)
        return Judged(line, SAME, says)

    def _as_on_record(self, known: KnownFiring, seen: Seen) -> None:
        """Raises `RefusedError` "on_record_otherwise" for what the row says and the record not."""
        firing, peak, hold, verdict = known.key, known.peak, known.hold, known.verdict
        if seen.verdict is not None and seen.verdict != verdict:
            words = self._past.words.verdicts
            here = "nothing" if verdict is None else words[verdict]
            raise RefusedError(
                "on_record_otherwise", "verdict", firing=firing, here=here, cell=words[seen.verdict]
            )
        if seen.peak is not None and (peak is None or abs(peak - seen.peak) > PEAK_SAME_C):
            here = "nothing" if peak is None else f"{peak:.0f} °C"
            raise RefusedError(
                "on_record_otherwise", "peak", firing=firing, here=here, cell=seen.written
            )
        if seen.hold is not None and (hold is None or abs(hold - seen.hold) > HOLD_SAME_S):
            here = "nothing" if hold is None else f"{hold / 60:.0f} min"
            cell = f"{seen.hold / 60:g} min"
            raise RefusedError("on_record_otherwise", "hold", firing=firing, here=here, cell=cell)

    def _new(
        self,
        line: int,
        stands: Standing | None,
        kiln: KnownKiln,
        when: When,
        schedule: str,
        who: Who,
        seen: Seen,
        cells: Mapping[str, str],
        of_row: str,
        says: str,
    ) -> Judged:
        pieces = self._pieces(schedule, who, seen, cells)
        keys = keys_of([piece.title for piece in pieces], [piece.maker for piece in pieces])
        if stands is not None:
            self._not_twice(stands, keys)
        revision = self._revisions.find(line, schedule, cells, kiln, of_row)
        duration = self._cells.lasting(cells, "duration")
        opened, _ = self._cells.temperature(cells, "opened_c", kiln, of_row)
        changed, changed_note = self._cells.changed(cells)
        plan = NewFiring(
            line,
            stands.first.line if stands and stands.first else None,
            kiln.key,
            who.fired_by,
            revision,
            when.starts,
            when.knows_time,
            when.opens,
            pieces,
            title=" ".join(cells.get("title", "").split())[:120] or (who.titles or ("",))[0],
            opened=opened,
            peak=seen.peak,
            hold=seen.hold,
            duration=duration,
            energy=self._cells.energy(cells),
            changed=changed,
            changed_note=changed_note,
            notes=self._cells.notes(cells),
        )
        if stands is None:
            self._stands.require_free(kiln.key, when, duration)
            stands = self._stands.keep(kiln.key, when, schedule, plan)
        elif stands.first is not None:
            _require_one_firing(stands.first, plan)
        if isinstance(revision, NewRevision):
            self._revisions.keep(revision)
        stands.pieces += keys
        stands.lines |= {(title,): line for title, _ in keys}
        maker = self._cells.name_of(who.makers[0])
        return Judged(
            line,
            NEW,
            says,
            changes=shown(plan, seen.written, maker, who.is_said, self._past.words),
            plan=plan,
        )

    def _pieces(
        self, schedule: str, who: Who, seen: Seen, cells: Mapping[str, str]
    ) -> tuple[PastPiece, ...]:
        """The first one is what the schedule serves; called as the firing, or the schedule, where
        the row gives it no name."""
        if not who.is_clear:
            makers, pieces = len(who.makers), len(who.titles)
            raise RefusedError("makers_unclear", "makers", makers=makers, pieces=pieces)
        titles = who.titles or (" ".join(cells.get("title", "").split()) or schedule,)
        served = self._cells.piece(cells, titles[0][:120], who.makers[0], seen)
        others = zip(titles[1:], who.makers[1:], strict=False)
        return (served, *(PastPiece(title, maker) for title, maker in others))

    def _not_twice(self, stands: Standing, keys: list[tuple[str, int]]) -> None:
        for key in keys:
            if key in stands.pieces:
                raise RefusedError("row_twice", line=stands.lines[(key[0],)])


def _require_one_firing(first: NewFiring, plan: NewFiring) -> None:
    """Raises `RefusedError` "rows_of_one_differ" where two rows of one firing are at odds."""
    for name in ("revision", "peak", "hold", "duration", "energy"):
        before, now = getattr(first, name), getattr(plan, name)
        if now is not None and before != now:
            raise RefusedError("rows_of_one_differ", name, line=first.line)
