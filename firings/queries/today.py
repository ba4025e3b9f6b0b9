"""What the front page shows: the kilns now, what waits for a verdict, what comes next."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery

from firings.core_inputs import keyed_curve
from firings.models import Firing, FiringState, LoadedPiece
from schedules.models import Schedule
from schedules.queries.opening import Opening, opening_of
from studio.models import GlassFamily, GlassKind, Kiln, Person

MOST_WAITING = 12
MOST_PLANNED = 12


@dataclass(frozen=True)
class KilnNow:
    """A kiln with what is in it: `running`, or the `last` firing that was opened, or neither.

    By the plan: `expected_c` is what the display should show now, and `opening` when it should be
    cool enough to open; both are None where the plan does not tell.
    """

    kiln: Kiln
    running: Firing | None = None
    last: Firing | None = None
    expected_c: float | None = None
    opening: Opening | None = None
    should_be_cool: bool = False
    is_surely_cool: bool = False


@dataclass(frozen=True)
class PlannedFiring:
    firing: Firing
    is_overdue: bool
    is_mine: bool


@dataclass(frozen=True)
class FirstSteps:
    """What a new studio still lacks; `all_done` once it has fired anything."""

    has_kiln: bool
    has_family: bool
    has_glass: bool
    has_schedule: bool
    has_company: bool
    has_firing: bool

    @property
    def all_done(self) -> bool:
        return self.has_firing


def kilns_now(now: datetime) -> list[KilnNow]:
    """Each kiln in service, and any other in which a firing runs; those that run come first."""
    running = Firing.objects.filter(kiln=OuterRef("pk"), state=FiringState.FIRING)
    latest = Firing.objects.filter(kiln=OuterRef("pk"), state=FiringState.OPENED)
    kilns = list(
        Kiln.objects.annotate(
            running_pk=Subquery(running.values("pk")[:1]),
            last_pk=Subquery(latest.order_by("-opened_at").values("pk")[:1]),
        ).filter(Q(in_service=True) | Q(running_pk__isnull=False))
    )
    wanted = {kiln.running_pk or kiln.last_pk for kiln in kilns}
    firings = (
        Firing.objects.select_related(
            "kiln__learnt_response", "fired_by", "revision__schedule", "opened_by"
        )
        .prefetch_related("revision__segments", "keyed_differences")
        .in_bulk([pk for pk in wanted if pk is not None])
    )
    shown = [
        _running(kiln, firings[kiln.running_pk], now)
        if kiln.running_pk
        else KilnNow(kiln, last=firings.get(kiln.last_pk))
        for kiln in kilns
    ]
    return sorted(shown, key=lambda each: each.running is None)


def _running(kiln: Kiln, firing: Firing, now: datetime) -> KilnNow:
    curve = keyed_curve(firing)
    assert firing.started_at is not None  # noqa: S101  a constraint: whatever fires has started
    elapsed = (now - firing.started_at).total_seconds()
    expected = None if curve.duration is None else curve.at(elapsed)
    opening = opening_of(curve, firing.started_at)
    return KilnNow(
        kiln,
        running=firing,
        expected_c=expected,
        opening=opening,
        should_be_cool=_is_past(opening.at if opening else None, now),
        is_surely_cool=_is_past(opening.latest_at if opening else None, now),
    )


def _is_past(moment: datetime | None, now: datetime) -> bool:
    return moment is not None and moment <= now


def pieces_waiting_for(person: Person) -> QuerySet[LoadedPiece]:
    """This person's pieces out of opened firings that nobody judged yet, the latest first."""
    return (
        LoadedPiece.objects.filter(
            piece__maker=person, verdict__isnull=True, firing__state=FiringState.OPENED
        )
        .select_related("piece", "firing__kiln", "firing__revision__schedule")
        .order_by("-firing__opened_at", "-is_served", "pk")
    )


def planned_firings(person: Person, now: datetime) -> list[PlannedFiring]:
    """What is planned, the earliest first; without a time it comes last."""
    planned = (
        Firing.objects.filter(state=FiringState.PLANNED)
        .select_related("kiln", "fired_by", "revision__schedule")
        .order_by(F("planned_start").asc(nulls_last=True), "pk")
    )
    return [
        PlannedFiring(
            firing,
            is_overdue=firing.planned_start is not None and firing.planned_start < now,
            is_mine=firing.fired_by_id == person.pk,
        )
        for firing in planned[:MOST_PLANNED]
    ]


def first_steps(person: Person) -> FirstSteps:
    others = Person.objects.exclude(pk=person.pk)
    row = Person.objects.filter(pk=person.pk).values_list(
        Exists(Kiln.objects.all()),
        Exists(GlassFamily.objects.all()),
        Exists(GlassKind.objects.all()),
        Exists(Schedule.objects.all()),
        Exists(others),
        Exists(Firing.objects.all()),
    )
    return FirstSteps(*row.get())
