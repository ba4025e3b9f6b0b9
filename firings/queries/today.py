"""What the front page shows: the kilns now, what waits for a verdict, what comes next."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery

from firings.models import Firing, FiringState, LoadedPiece, UnknownFiring
from firings.queries.brought import logged_here
from firings.queries.labels import open_unknown_firings
from firings.queries.logged_readings import logged_so_far
from firings.queries.visible import visible_load
from firings.queries.watching import FiringNow, firing_now
from schedules.models import Schedule
from studio.access import AT_DEVICE
from studio.models import GlassFamily, GlassKind, Kiln, Person

MOST_WAITING = 12
MOST_PLANNED = 12
NEAR = timedelta(hours=24)


@dataclass(frozen=True)
class KilnNow:
    """A kiln with what is in it: `running`, or the `last` firing that was opened, or neither.

    `fire` is what is expected of the running one; `unknown` runs and nobody wrote down what.
    """

    kiln: Kiln
    fire: FiringNow | None = None
    last: Firing | None = None
    unknown: UnknownFiring | None = None

    @property
    def running(self) -> Firing | None:
        return None if self.fire is None else self.fire.firing


@dataclass(frozen=True)
class PlannedFiring:
    """`is_near`: to be loaded within a day, or already late."""

    firing: Firing
    is_overdue: bool
    is_mine: bool
    is_near: bool


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
    unknown_ones = UnknownFiring.objects.filter(kiln=OuterRef("pk"), closed_at=None)
    kilns = list(
        Kiln.objects.annotate(
            running_pk=Subquery(running.values("pk")[:1]),
            unknown_pk=Subquery(unknown_ones.values("pk")[:1]),
            last_pk=Subquery(latest.order_by("-opened_at").values("pk")[:1]),
        ).filter(Q(in_service=True) | Q(running_pk__isnull=False) | Q(unknown_pk__isnull=False))
    )
    wanted = {kiln.running_pk or kiln.last_pk for kiln in kilns}
    firings = (
        Firing.objects.select_related(
            "kiln__learnt_response", "fired_by", "revision__schedule", "opened_by"
        )
        .prefetch_related("revision__segments", "keyed_differences", "events", "spot_readings")
        .in_bulk([pk for pk in wanted if pk is not None])
    )
    logged = logged_so_far([each for each in firings.values() if each.state == FiringState.FIRING])
    unknown: dict[int, UnknownFiring] = {}
    if any(kiln.unknown_pk for kiln in kilns):
        unknown = {each.kiln_id: each for each in open_unknown_firings()}
    shown = [
        KilnNow(kiln, fire=firing_now(firings[kiln.running_pk], now, logged[kiln.running_pk]))
        if kiln.running_pk
        else KilnNow(kiln, last=firings.get(kiln.last_pk), unknown=unknown.get(kiln.pk))
        for kiln in kilns
    ]
    return sorted(shown, key=lambda each: each.running is None and each.unknown is None)


def pieces_waiting_for(person: Person) -> QuerySet[LoadedPiece]:
    """This person's pieces out of opened firings that nobody judged yet, the latest first.

    On a studio device, everybody's that are shown there.
    """
    if person.role == AT_DEVICE:
        load = visible_load(person)
    else:
        load = LoadedPiece.objects.filter(piece__maker=person)
    return (
        load.filter(logged_here("firing__"), verdict__isnull=True, firing__state=FiringState.OPENED)
        .select_related("piece__maker", "firing__kiln", "firing__revision__schedule")
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
            is_near=firing.planned_start is not None and firing.planned_start < now + NEAR,
        )
        for firing in planned[:MOST_PLANNED]
    ]


def first_steps(person: Person) -> FirstSteps:
    others = Person.objects.exclude(pk=person.pk)
    row = Person.objects.order_by("pk").values_list(
        Exists(Kiln.objects.all()),
        Exists(GlassFamily.objects.all()),
        Exists(GlassKind.objects.all()),
        Exists(Schedule.objects.all()),
        Exists(others),
        Exists(Firing.objects.all()),
    )
    return FirstSteps(*row[0])
