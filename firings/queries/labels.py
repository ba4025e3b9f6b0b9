"""What is printed on the labels of kilns, pieces and tiles; and what a kiln's code shows."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from django.db.models import F, Prefetch, QuerySet
from django.urls import reverse

from firings.models import Firing, FiringState, Label, Ladder, LoadedPiece, Piece, UnknownFiring
from firings.queries.clearing import FiringClearing, clearings_of
from firings.queries.open_firings import firings_open_to
from firings.queries.visible import visible_load
from studio.models import Kiln, Person, Studio
from studio.queries.labels import PrintedLabel

MOST_PLANNED = 6


def kiln_label(label: Label, absolute: Callable[[str], str]) -> PrintedLabel:
    assert label.kiln is not None  # noqa: S101  a constraint, and the caller's choice
    lines = [label.kiln.place] if label.kiln.place else []
    address = reverse("firings:kiln_code", args=[label.code])
    return PrintedLabel(label.kiln.name, lines, absolute(address))


def piece_label(label: Label, absolute: Callable[[str], str]) -> PrintedLabel:
    """Maker, firing and place, of the piece's latest firing. `pieces_for_labels` reads ahead."""
    assert label.piece is not None  # noqa: S101  as above
    piece = label.piece
    lines = [f"by {piece.maker.name}"]
    last: LoadedPiece | None = next(iter(piece.firings.all()), None)
    if last is not None:
        when = last.firing.started_at or last.firing.planned_start
        day = f", {when:%d %b %Y}" if when else ""
        lines.append(f"firing {last.firing_id}{day}")
        where = f"{last.firing.kiln.name}, {last.place.name}" if last.place else None
        lines.append(where or last.firing.kiln.name)
    return PrintedLabel(
        piece.title, lines, absolute(reverse("firings:piece_code", args=[label.code]))
    )


def code_of(piece: Piece) -> str:
    """The code on a piece's ticket, empty while it has none."""
    return Label.objects.filter(piece=piece).values_list("code", flat=True).first() or ""


def rung_labels(ladder: Ladder, absolute: Callable[[str], str]) -> list[PrintedLabel]:
    """One for each rung: its value as written, its glass, and where it lies."""
    rungs = list(ladder.rungs.all())
    labels = []
    for rung in rungs:
        rung.ladder = ladder
        lines = [f"rung {rung.number} of {len(rungs)}: {rung.words}"]
        if ladder.glass is not None:
            lines.append(f"{ladder.glass}, {ladder.glass.family}")
        lines.append(
            f"{ladder.kiln.name}, {ladder.place.name}" if ladder.place else ladder.kiln.name
        )
        address = absolute(reverse("firings:rung_code", args=[rung.code]))
        labels.append(PrintedLabel(f"{ladder.name} {rung.number}", lines, address))
    return labels


def pieces_for_labels(pks: Iterable[int], reader: Person) -> QuerySet[Piece]:
    latest = visible_load(reader).select_related("firing__kiln", "place").order_by("-firing_id")
    return (
        Piece.objects.filter(pk__in=pks)
        .select_related("maker")
        .prefetch_related(Prefetch("firings", queryset=latest))
        .order_by("pk")
    )


@dataclass(frozen=True)
class AtKiln:
    """What stands to choose from for somebody in front of a kiln."""

    running: Firing | None
    unknown: UnknownFiring | None
    last: Firing | None
    planned: list[FiringClearing]


def at_kiln(kiln: Kiln, person: Person, studio: Studio) -> AtKiln:
    """What is in the kiln, and what is planned for it, this person's own first."""
    firings = Firing.objects.filter(kiln=kiln).select_related("revision__schedule", "fired_by")
    found = clearings_of(_planned_in(kiln)[:MOST_PLANNED], studio)
    found.sort(key=lambda each: each.firing.fired_by_id != person.pk)
    return AtKiln(
        firings.filter(state=FiringState.FIRING).first(),
        open_unknown_firings().filter(kiln=kiln).first(),
        firings.filter(state=FiringState.OPENED).order_by("-opened_at").first(),
        found,
    )


def planned_to_name(person: Person, kiln: Kiln) -> QuerySet[Firing]:
    """What is planned in a kiln and this person could have started, had it been noted."""
    open_to = firings_open_to(person, "firing.change")
    return (
        _planned_in(kiln)
        .filter(pk__in=open_to.values("pk"))
        .select_related("revision__schedule", "fired_by")
    )


def _planned_in(kiln: Kiln) -> QuerySet[Firing]:
    return Firing.objects.filter(kiln=kiln, state=FiringState.PLANNED).order_by(
        F("planned_start").asc(nulls_last=True), "pk"
    )


def open_unknown_firings() -> QuerySet[UnknownFiring]:
    return UnknownFiring.objects.filter(closed_at=None).select_related("kiln", "noted_by")
