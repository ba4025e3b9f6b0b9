"""Test series as their pages show them: a list, and one with its rungs in a row."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, Prefetch, Q, QuerySet

from firings.models import (
    Firing,
    FiringState,
    Ladder,
    LoadedPiece,
    Moment,
    Photograph,
    Rung,
    VerdictValue,
)
from firings.queries.tuning_page import Tuning
from firings.queries.visible import visible_load, visible_photographs
from firings.services.decision import AS_WANTED
from firings.services.top import find_top
from firings.services.what_if import foretold
from schedules.core_inputs import core_segments
from schedules.models import Schedule
from studio import access
from studio.models import Person

VERDICTS = dict(VerdictValue.choices)
MOST_SHOWN = 6


@dataclass(frozen=True)
class RungInRow:
    """One tile of a series, as this reader may see it.

    `loaded` is None where it has no firing yet, and where its load is kept from the reader; then
    `is_kept`. `chance` is that of "as wanted" as the advice has it now.
    """

    rung: Rung
    firing: Firing | None
    loaded: LoadedPiece | None
    photograph: Photograph | None
    may_judge: bool
    chance: float | None = None

    @property
    def is_kept(self) -> bool:
        return self.firing is not None and self.loaded is None

    @property
    def verdict(self) -> int | None:
        return None if self.loaded is None else self.loaded.counted_verdict

    @property
    def words(self) -> str:
        return "" if self.verdict is None else str(VERDICTS[self.verdict])

    @property
    def is_opened(self) -> bool:
        return self.firing is not None and self.firing.state == FiringState.OPENED


@dataclass(frozen=True)
class LadderInRow:
    """A series with its rungs, the lowest first."""

    ladder: Ladder
    rows: list[RungInRow]

    @property
    def judged(self) -> int:
        return sum(row.verdict is not None for row in self.rows)

    @property
    def to_plan(self) -> int:
        """Rungs that have no firing that stands."""
        return sum(
            row.firing is None or row.firing.state == FiringState.CALLED_OFF for row in self.rows
        )

    @property
    def to_judge(self) -> list[RungInRow]:
        return [row for row in self.rows if row.is_opened and row.may_judge]

    @property
    def pictured(self) -> list[RungInRow]:
        return [row for row in self.rows if row.photograph is not None]

    @property
    def best(self) -> RungInRow | None:
        """The likeliest to come out as wanted, once anything was judged."""
        told = [row for row in self.rows if row.chance is not None]
        return max(told, key=lambda row: row.chance or 0.0, default=None)


def ladders(schedule: Schedule | None = None) -> QuerySet[Ladder]:
    """Those under way first, then the closed ones, the latest first; with how many were fired."""
    found = Ladder.objects.select_related("schedule", "kiln", "made_by").annotate(
        count=Count("rungs"),
        fired=Count("rungs", filter=Q(rungs__loaded__firing__state=FiringState.OPENED)),
    )
    return found if schedule is None else found.filter(schedule=schedule)


@dataclass(frozen=True)
class ScheduleLadders:
    """What a schedule's page shows of its test series."""

    schedule: Schedule
    ladders: list[Ladder]


def schedule_ladders(schedule: Schedule) -> ScheduleLadders:
    return ScheduleLadders(schedule, list(ladders(schedule)[:MOST_SHOWN]))


def ladder_in_row(ladder: Ladder, reader: Person, tuning: Tuning | None = None) -> LadderInRow:
    """The rungs of a series; with `tuning` of its schedule in its kiln, their chances too."""
    load = LoadedPiece.objects.select_related(
        "firing__fired_by", "firing__kiln", "piece__maker", "review"
    ).prefetch_related("faults")
    rungs = list(
        ladder.rungs.select_related("revision").prefetch_related(
            "revision__segments", Prefetch("loaded", load)
        )
    )
    pks = [each.loaded_id for each in rungs if each.loaded_id is not None]
    seen = set(visible_load(reader).filter(pk__in=pks).values_list("pk", flat=True))
    taken = {
        each.loaded_piece_id: each
        for each in visible_photographs(reader)
        .filter(loaded_piece__in=seen, moment=Moment.AFTER)
        .order_by("pk")
    }
    rows = [
        RungInRow(
            rung=rung,
            firing=None if rung.loaded is None else rung.loaded.firing,
            loaded=rung.loaded if rung.loaded_id in seen else None,
            photograph=taken.get(rung.loaded_id),
            may_judge=rung.loaded_id in seen and access.may(reader, "piece.judge", rung.loaded),
            chance=chance,
        )
        for rung, chance in zip(rungs, _chances(rungs, tuning), strict=True)
    ]
    for row in rows:
        row.rung.ladder = ladder
    return LadderInRow(ladder, rows)


def _chances(rungs: Sequence[Rung], tuning: Tuning | None) -> list[float | None]:
    if tuning is None or tuning.history is None or not tuning.history.evidence:
        return [None] * len(rungs)
    top = tuning.top
    tops = [find_top(core_segments(rung.revision)) for rung in rungs]
    changes = [(each.peak - top.peak, each.hold - top.hold) for each in tops]
    told = foretold(tuning.history, tuning.limits, changes)
    return [each.chances[AS_WANTED] for each in told]
