"""What waits for an instructor, and a piece as it is reviewed."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Window

from firings.models import FaultKind, FiringState, LoadedPiece, Photograph, PieceSpot, Review
from firings.queries.brought import logged_here
from firings.queries.clearing import FiringClearing, firings_to_clear
from firings.queries.crops import crops_of
from firings.queries.firing_page import Held
from firings.queries.recorded import Recorded, recorded_firing
from firings.queries.tuning import NextTimeNote, next_time_note
from firings.queries.visible import visible_photographs
from firings.services.shared_faults import SeenPiece, SharedFault, shared_faults
from firings.services.top import find_top
from firings.wording import chart_says
from schedules.charts import SvgCurve
from studio.models import Person, Role, RubricCriterion, Studio
from studio.queries.rubric import rubric_for
from studio.teaching import counting_memberships, taught_by

OVERDUE_AFTER = timedelta(days=7)
CLEARED_BEFORE = timedelta(days=1)
LOOKED_BACK = timedelta(weeks=12)
SHOWN = 40
"""Of each list on the desk; the rest comes up as these are done."""


def pieces_to_review(person: Person) -> QuerySet[LoadedPiece]:
    """Students' pieces opened in the time of a class that nobody reviewed yet, the oldest first.

    An instructor's are those of their own classes, a keeper's those of all.
    """
    in_class = counting_memberships().filter(
        person=OuterRef("piece__maker"),
        teaching_class__starts_on__lte=OuterRef("firing__opened_at__date"),
    )
    if person.role != Role.KEEPER:
        in_class = in_class.filter(teaching_class__instructors=person)
    return (
        LoadedPiece.objects.filter(
            Exists(in_class),
            logged_here("firing__"),
            firing__state=FiringState.OPENED,
            review=None,
        )
        .select_related("piece__maker", "firing__kiln", "firing__revision__schedule")
        .order_by(F("firing__opened_at").asc(), "pk")
    )


@dataclass(frozen=True)
class ToReview:
    loaded: LoadedPiece
    is_overdue: bool


@dataclass(frozen=True)
class FaultShared:
    """What several students share, with the names of what it is put down to."""

    found: SharedFault
    kind: str
    kiln: str
    schedule: str


@dataclass(frozen=True)
class ReviewDesk:
    """`review_count` counts those too that are not listed."""

    to_clear: list[FiringClearing]
    to_review: list[ToReview]
    review_count: int
    now: datetime
    shared: list[FaultShared]

    @property
    def overdue_count(self) -> int:
        """Of what is listed: a start within a day, or a week since the opening."""
        soon = self.now + CLEARED_BEFORE
        starts = [each.firing.planned_start for each in self.to_clear]
        return sum(start is not None and start < soon for start in starts) + sum(
            each.is_overdue for each in self.to_review
        )


def review_desk(person: Person, studio: Studio, now: datetime) -> ReviewDesk:
    """At most a dozen queries for its page, however many students there are."""
    listed = list(pieces_to_review(person).annotate(in_all=Window(Count("pk")))[:SHOWN])
    return ReviewDesk(
        to_clear=firings_to_clear(person, studio)[:SHOWN],
        to_review=[
            ToReview(loaded, now - loaded.firing.opened_at > OVERDUE_AFTER)
            for loaded in listed
            if loaded.firing.opened_at is not None
        ],
        review_count=listed[0].in_all if listed else 0,
        now=now,
        shared=faults_shared(
            LoadedPiece.objects.filter(piece__maker__in=taught_by(person)), now - LOOKED_BACK
        ),
    )


SEEN_ON = (
    "pk",
    "firing_id",
    "firing__kiln_id",
    "firing__kiln__name",
    "firing__revision__schedule_id",
    "firing__revision__schedule__name",
    "piece__maker_id",
    "faults__kind",
)
"""Of a piece once for each of its faults, or once without: what `shared_among` reads."""


def faults_shared(pieces: QuerySet[LoadedPiece], since: datetime) -> list[FaultShared]:
    """Faults that several makers share among these pieces, out of firings opened since then."""
    opened = pieces.filter(firing__state=FiringState.OPENED, firing__opened_at__gte=since)
    return shared_among(opened.order_by().values_list(*SEEN_ON))


def shared_among(rows: Iterable[tuple[Any, ...]]) -> list[FaultShared]:
    """The same from rows of `SEEN_ON` at hand."""
    kilns: dict[Hashable, str] = {None: ""}
    schedules: dict[Hashable, str] = {None: ""}
    seen: dict[int, SeenPiece] = {}
    for pk, firing, kiln, kiln_name, schedule, schedule_name, maker, kind in rows:
        kilns[kiln], schedules[schedule] = kiln_name, schedule_name
        known = seen.get(pk)
        faults = known.faults if known else frozenset()
        if kind:
            faults |= {kind}
        seen[pk] = SeenPiece(firing, kiln, schedule, maker, faults)
    names = dict(FaultKind.choices)
    return [
        FaultShared(found, names[found.kind], kilns[found.kiln], schedules[found.schedule])
        for found in shared_faults(seen.values())
    ]


@dataclass(frozen=True)
class PieceReview:
    """A piece with all that an instructor looks at, and where it lies in the queue."""

    loaded: LoadedPiece
    review: Review | None
    criteria: list[RubricCriterion]
    photographs: list[Photograph]
    crops: list[PieceSpot]
    held: Held
    recorded: Recorded
    drawings: tuple[SvgCurve, ...]
    says: str
    note: NextTimeNote | None
    before: int | None
    after: int | None
    waiting: int


def piece_to_review(pk: int, person: Person, studio: Studio) -> PieceReview:
    """`Http404` for none is the caller's; the queue is that of this person."""
    loaded = (
        LoadedPiece.objects.select_related(
            "piece__maker",
            "firing__kiln",
            "firing__fired_by",
            "firing__revision__schedule",
            "glass__family",
            "place",
            "judged_by",
            "review__reviewed_by",
        )
        .prefetch_related("faults", "other_glasses", "review__marks__criterion")
        .get(pk=pk)
    )
    seen = recorded_firing(loaded.firing_id, person)
    queue = list(pieces_to_review(person).values_list("pk", flat=True))
    before, after = _beside(queue, loaded, person)
    schedule = loaded.firing.revision.schedule
    return PieceReview(
        loaded=loaded,
        review=getattr(loaded, "review", None),
        criteria=rubric_for(loaded.piece.maker, person),
        photographs=_photographs_of(loaded, person),
        crops=list(crops_of(loaded)),
        held=Held(seen.curve, find_top(seen.curve.segments), seen.recording, seen.comparison),
        recorded=seen.recorded,
        drawings=seen.chart(person.unit).drawings,
        says=chart_says(seen.curve, seen.recording, person.unit),
        note=next_time_note(schedule, loaded.firing.kiln, studio, reader=person)
        if loaded.is_served
        else None,
        before=before,
        after=after,
        waiting=len(queue),
    )


def next_to_review(loaded: LoadedPiece, person: Person) -> int | None:
    """After this piece, or from the front again; None where nothing waits."""
    queue = list(pieces_to_review(person).values_list("pk", flat=True))
    return _beside(queue, loaded, person)[1]


def _beside(
    queue: Sequence[int], loaded: LoadedPiece, person: Person
) -> tuple[int | None, int | None]:
    """What lies before and after a piece in the queue, round its ends."""
    others = [pk for pk in queue if pk != loaded.pk]
    if not others:
        return None, None
    if loaded.pk in queue:
        at = queue.index(loaded.pk)
    else:
        # Reviewed already: after those that stood before it.
        opened_at = loaded.firing.opened_at
        stood_before = Q(firing__opened_at__lt=opened_at) | Q(
            firing__opened_at=opened_at, pk__lt=loaded.pk
        )
        at = pieces_to_review(person).filter(stood_before).order_by().count()
    return others[at - 1], others[at % len(others)]


def _photographs_of(loaded: LoadedPiece, reader: Person) -> list[Photograph]:
    """Of this piece, or else of the whole load; the finished one first."""
    visible = visible_photographs(reader).filter(firing=loaded.firing_id)
    taken = list(visible.select_related("loaded_piece__piece").order_by("pk"))
    own = [each for each in taken if each.loaded_piece_id == loaded.pk]
    shown = own or [each for each in taken if each.loaded_piece_id is None]
    return sorted(shown, key=lambda each: each.moment != "after")
