"""The firings of a schedule as its tuning page lists them, with the revisions between them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from firings.core_inputs import keyed_segments
from firings.models import Firing, LoadedPiece, Moment, Photograph
from firings.queries.tuning_page import VERDICTS, Tuning
from firings.recording_inputs import summary_of
from firings.services.placing import PlacedFiring
from firings.services.top import Top, find_top
from schedules.models import Revision


@dataclass(frozen=True)
class TunedFiring:
    """One firing beside the schedule as it stands.

    `recorded_peak` (°C) and `recorded_hold` (s) are None where nobody knows them. `verdict` is the
    one of all its pieces together, `weight` its share in the advice, None where it has none;
    `left_out` says that it tells nothing whatever its verdict. Of one that is kept from the reader
    there is no verdict, fault or photograph.
    """

    firing: Firing
    top: Top
    recorded_peak: float | None
    recorded_hold: float | None
    placed: PlacedFiring | None
    verdict: int | None
    weight: float | None
    left_out: bool
    missed_plan: bool
    faults: tuple[str, ...]
    photograph: Photograph | None
    is_kept: bool = False

    @property
    def words(self) -> str:
        return "" if self.verdict is None else VERDICTS[self.verdict]

    @property
    def more_beside(self) -> bool:
        """Whether anything else was noted beside the plan that was missed."""
        return bool((self.firing.also_changed and not self.is_kept) or self.faults)

    @property
    def beside(self) -> bool:
        return self.missed_plan or self.more_beside

    @property
    def has_recording(self) -> bool:
        return self.recorded_peak is not None or self.recorded_hold is not None


@dataclass(frozen=True)
class TunedEntry:
    """A line of the list: a firing, or a revision that was made then."""

    tuned: TunedFiring | None = None
    revision: Revision | None = None


def tuned_firings(tuning: Tuning, firings: Sequence[Firing]) -> list[TunedFiring]:
    """These firings of a schedule, in their order: one query, for the photographs."""
    shown = _photographs([each for each in firings if each.pk not in tuning.kept])
    return [_tuned(tuning, firing, shown.get(firing.pk)) for firing in firings]


def with_revisions(
    tuning: Tuning, page: Sequence[TunedFiring], revisions: Sequence[Revision]
) -> list[TunedEntry]:
    """The firings of one page, the latest first, with the revisions made between them.

    What was made after the latest firing of all stands at the head of the first page, what was
    made before the first at the foot of the last.
    """
    order = [firing.pk for firing in reversed(tuning.firings)]
    starts = {firing.pk: _started(firing) for firing in tuning.firings}
    if not page:
        return [TunedEntry(revision=revision) for revision in revisions]
    begin, end = order.index(page[0].firing.pk), order.index(page[-1].firing.pk)
    newer = starts[order[begin - 1]] if begin else None
    older = starts[order[end + 1]] if end + 1 < len(order) else None
    kept = [
        revision
        for revision in revisions
        if (newer is None or revision.made_at <= newer)
        and (older is None or revision.made_at > older)
    ]
    lines = [(starts[each.firing.pk], TunedEntry(tuned=each)) for each in page]
    lines += [(revision.made_at, TunedEntry(revision=revision)) for revision in kept]
    lines.sort(key=lambda line: line[0], reverse=True)
    return [entry for _, entry in lines]


def _started(firing: Firing) -> datetime:
    assert firing.started_at is not None  # noqa: S101  a constraint: an opened one has started
    return firing.started_at


def _tuned(tuning: Tuning, firing: Firing, photograph: Photograph | None) -> TunedFiring:
    known, past = summary_of(firing), tuning.past.get(firing.pk)
    is_kept = firing.pk in tuning.kept
    point, load = tuning.points.get(firing.pk), list(firing.load.all())
    return TunedFiring(
        firing=firing,
        top=find_top(keyed_segments(firing)),
        recorded_peak=known.peak,
        recorded_hold=known.hold,
        placed=tuning.placed.get(firing.pk),
        verdict=None if is_kept else _verdict(load) if past is None else past.verdict,
        weight=None if point is None else point.weight,
        left_out=past is None or (past.verdict is not None and point is None),
        missed_plan=past is not None and past.missed_plan,
        faults=tuple(
            dict.fromkeys(
                fault.get_kind_display()
                for one in ([] if is_kept else load)
                for fault in one.faults.all()
            )
        ),
        photograph=photograph,
        is_kept=is_kept,
    )


def _verdict(load: Sequence[LoadedPiece]) -> int | None:
    """Of a firing that says nothing: that of the piece that the schedule served."""
    return load[0].counted_verdict if load else None


def _photographs(firings: Sequence[Firing]) -> dict[int, Photograph]:
    """One of each firing, taken afterwards: best of the piece that the schedule served."""
    served = {loaded.pk for firing in firings for loaded in firing.load.all() if loaded.is_served}
    taken = Photograph.objects.filter(firing__in=[each.pk for each in firings], moment=Moment.AFTER)
    found: dict[int, Photograph] = {}
    for photograph in taken.order_by("pk"):
        kept = found.get(photograph.firing_id)
        if kept is None or (
            photograph.loaded_piece_id in served and kept.loaded_piece_id not in served
        ):
            found[photograph.firing_id] = photograph
    return found
