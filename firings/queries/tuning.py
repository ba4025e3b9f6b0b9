"""What the next-time note is drawn from, and the note as a page shows it."""

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import Exists, OuterRef, Prefetch, QuerySet
from django.utils import timezone

from firings.advice_inputs import (
    past_firings,
    service_epoch,
    sitting_of,
    situation_of,
    step_limits,
)
from firings.core_inputs import schedule_glass
from firings.models import Firing, FiringState, Ladder, LoadedPiece, NoteTaken
from firings.queries.record import series_without_readings
from firings.queries.visible import open_load, visible_forecasts
from firings.services.advice import Advice, PastFiring, advise
from firings.services.top import find_top
from schedules.core_inputs import core_segments
from schedules.models import Revision, Schedule
from studio.models import Kiln, Person, Studio


@dataclass(frozen=True)
class RestingFiring:
    """A firing that the note rests on, with the share of its weight."""

    firing: Firing
    weight: float


@dataclass(frozen=True)
class RestingSeries:
    """A test series that the note rests on, with how many of its rungs were judged together."""

    ladder: Ladder
    count: int


@dataclass(frozen=True)
class NextTimeNote:
    """The advice for a schedule's newest revision in one kiln, as of now.

    Peaks are °C, holds and `hold_change` seconds. `newest` is the revision that it would change.
    """

    newest: Revision
    kiln: Kiln
    advice: Advice
    peak: float
    hold: float
    rests_on: tuple[RestingFiring, ...]
    firings: dict[int, Firing]

    @property
    def peak_then(self) -> float:
        return self.peak + self.advice.peak_change

    @property
    def hold_then(self) -> float:
        return self.hold + self.advice.hold_change

    @property
    def next_number(self) -> int:
        return self.newest.number + 1

    @property
    def rests_on_kept(self) -> bool:
        """Whether firings count in it that their firers keep to themselves."""
        return any(firing.is_private for firing in self.firings.values())

    @property
    def series(self) -> list[RestingSeries]:
        """Of the firings it rests on, those that were judged beside one another."""
        counted: dict[Hashable, list[Ladder]] = defaultdict(list)
        for each in self.rests_on:
            for loaded in each.firing.load.all():
                sitting = sitting_of(loaded) if loaded.is_served else None
                if sitting is not None:
                    counted[sitting].append(loaded.rung.ladder)
        return [RestingSeries(of[0], len(of)) for of in counted.values() if len(of) > 1]

    @property
    def size(self) -> str:
        """What the note changes, as a form carries it back: “5.000 0”."""
        return f"{self.advice.peak_change:.3f} {self.advice.hold_change:.0f}"


def firings_of_schedule(schedule: Schedule, reader: Person | None) -> QuerySet[Firing]:
    """A schedule's opened firings as evidence, the first of them first."""
    return (
        firings_as_evidence(reader).filter(revision__schedule=schedule).order_by("started_at", "pk")
    )


def firings_as_evidence(reader: Person | None) -> QuerySet[Firing]:
    """Opened firings with all that `firings.advice_inputs` reads of them.

    Those whose load is kept from this reader are left out: what is drawn from them would tell how
    they came out. Without a reader (None) all are there. Of recordings what they came to at the
    top, never their readings.
    """
    load = LoadedPiece.objects.select_related(
        "piece", "place", "judged_by", "review", "rung__ladder"
    ).prefetch_related("faults")
    # Kilns and revisions are few where firings are many: fetched apart, each is one object.
    firings = Firing.objects.filter(open_load(reader), state=FiringState.OPENED)
    return firings.select_related("brought").prefetch_related(
        Prefetch("kiln", Kiln.objects.select_related("learnt_response")),
        Prefetch("revision", Revision.objects.select_related("schedule__family")),
        "revision__segments",
        "keyed_differences",
        "events",
        "kiln__service_entries",
        "spot_readings",
        Prefetch("load", load),
        series_without_readings(),
    )


def newest_revision(schedule: Schedule) -> Revision:
    return (
        Revision.objects.filter(schedule=schedule)
        .select_related("schedule__family", "schedule__owner", "made_by")
        .prefetch_related("segments")
        .order_by("-number")[0]
    )


def next_time_note(
    schedule: Schedule,
    kiln: Kiln,
    studio: Studio,
    at: datetime | None = None,
    *,
    reader: Person | None,
) -> NextTimeNote:
    """The note for the next firing of a schedule in a kiln, from all of its firings so far that
    this reader may see.

    `at` is when it is given, where that is not now.
    """
    newest = newest_revision(schedule)
    firings = list(firings_of_schedule(schedule, reader))
    return note_of(newest, kiln, studio, firings, at)


def note_of(
    newest: Revision,
    kiln: Kiln,
    studio: Studio,
    firings: Sequence[Firing],
    at: datetime | None = None,
    past: Sequence[PastFiring] | None = None,
) -> NextTimeNote:
    """The same from firings at hand, and from what they say, where that is known already."""
    kilns = {firing.kiln_id: firing.kiln for firing in firings}
    kiln = kilns.get(kiln.pk, kiln)  # with its services, which came with the firings
    situation = situation_of(newest, kiln, list(kilns.values()), firings=firings)
    if at is not None:
        epoch = service_epoch(kiln, timezone.localdate(at))
        situation = replace(situation, service_epoch=epoch)
    if past is None:
        past = past_firings(firings, schedule_glass(newest))
    advice = advise(past, situation, step_limits(studio, kiln, newest.unit))
    return note_from(advice, newest, kiln, firings)


def note_from(
    advice: Advice, newest: Revision, kiln: Kiln, firings: Sequence[Firing]
) -> NextTimeNote:
    """The note for advice at hand, from these firings."""
    top = find_top(core_segments(newest))
    by_pk = {firing.pk: firing for firing in firings}
    return NextTimeNote(
        newest=newest,
        kiln=kiln,
        advice=advice,
        peak=top.peak,
        hold=top.hold,
        rests_on=tuple(
            RestingFiring(by_pk[each.firing], each.weight)
            for each in advice.rests_on
            if each.firing in by_pk
        ),
        firings=by_pk,
    )


def note_taken_of(firing: Firing, reader: Person) -> NoteTaken | None:
    """`forecast_is_open` says whether this reader may see its forecast and what it rests on."""
    seen = visible_forecasts(reader).filter(pk=OuterRef("forecast"))
    return (
        NoteTaken.objects.filter(firing=firing)
        .annotate(forecast_is_open=Exists(seen))
        .select_related("revision__schedule", "taken_by", "forecast")
        .prefetch_related("forecast__rests_on")
        .first()
    )
