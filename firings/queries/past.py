"""What rows of past firings are held against, as the core knows it."""

from collections import defaultdict
from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from firings.models import AlsoChanged, FaultKind, Firing, FiringState, LoadedPiece, VerdictValue
from firings.services.past.known import (
    KnownFiring,
    KnownKiln,
    KnownPerson,
    KnownPiece,
    KnownRevision,
    KnownSchedule,
    Past,
    Words,
)
from schedules.models import Process, Revision, RevisionSegment, Schedule
from schedules.services.writing import WrittenSegment
from studio.models import Kiln, Person
from studio.queries.known import known_glass

WORDS = Words(
    verdicts=dict(VerdictValue.choices),
    faults=dict(FaultKind.choices),
    processes=dict(Process.choices),
    changes=dict(AlsoChanged.choices),
    over=FiringState.OPENED.label,
    states=tuple(state.label for state in FiringState if state != FiringState.OPENED),
)


def known_past(by: Person) -> Past:
    """A dozen queries, however much there is."""
    glass = known_glass()
    kilns = Kiln.objects.order_by("pk").values_list("pk", "name", "max_temperature_c")
    people = Person.objects.order_by("pk").values_list("pk", "name", "sign_in_name")
    return Past(
        kilns=tuple(KnownKiln(*row) for row in kilns),
        people=tuple(KnownPerson(*row) for row in people),
        schedules=_schedules(),
        kinds=tuple(record.kind for record in glass.records.values()),
        families=glass.families,
        firings=_firings(),
        bringer=by.pk,
        words=WORDS,
        today=timezone.localdate(),
    )


def _schedules() -> tuple[KnownSchedule, ...]:
    segments: defaultdict[int, list[WrittenSegment]] = defaultdict(list)
    for key, rate, target, minutes in RevisionSegment.objects.order_by(
        "revision", "position"
    ).values_list("revision", "rate", "target", "hold_minutes"):
        segments[key].append(WrittenSegment(rate, target, Decimal(minutes)))
    revisions: defaultdict[int, list[KnownRevision]] = defaultdict(list)
    for schedule, key, number, unit in Revision.objects.order_by("schedule", "number").values_list(
        "schedule", "pk", "number", "unit"
    ):
        revisions[schedule].append(KnownRevision(key, number, unit, tuple(segments[key])))
    return tuple(
        KnownSchedule(key, name, tuple(revisions[key]))
        for key, name in Schedule.objects.order_by("pk").values_list("pk", "name")
    )


def _firings() -> tuple[KnownFiring, ...]:
    pieces: defaultdict[int, list[KnownPiece]] = defaultdict(list)
    verdicts: dict[int, int | None] = {}
    for firing, title, maker, verdict in LoadedPiece.objects.order_by(
        "firing", "-is_served", "pk"
    ).values_list("firing", "piece__title", "piece__maker", "verdict"):
        pieces[firing].append(KnownPiece(title, maker))
        verdicts.setdefault(firing, verdict)
    rows = Firing.objects.order_by("pk").values_list(
        "pk", "kiln", "revision__schedule", "started_at", "opened_at",
        "recorded_peak_c", "recorded_hold_s", "series", "series__peak_c", "series__hold_s",
        "brought__knows_time", "brought__knows_opening",
    )  # fmt: skip
    return tuple(
        KnownFiring(
            pk,
            kiln,
            schedule,
            _minute(started),
            knows_time=knows_time is not False,
            ends=None if knows_opening is False else _minute(opened),
            pieces=tuple(pieces[pk]),
            # As `summary_of` tells a recorded firing.
            peak=peak if top is None else top,
            hold=hold if series is None else held,
            verdict=verdicts.get(pk),
        )
        for (pk, kiln, schedule, started, opened, peak, hold, series, top, held, *known) in rows
        for knows_time, knows_opening in [known]
    )


def _minute(at: datetime | None) -> datetime | None:
    """By the studio's clock, without its zone: as a row tells it."""
    if at is None:
        return None
    return timezone.localtime(at).replace(second=0, microsecond=0, tzinfo=None)
