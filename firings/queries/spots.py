"""Pieces on photographs of their shelf, and the crops that show them."""

from dataclasses import dataclass

from django.db.models import QuerySet

from firings.models import Firing, FiringState, LoadedPiece, Moment, Photograph, PieceSpot
from firings.queries.loading import pieces_in
from firings.queries.visible import visible_load, visible_photographs
from studio import access
from studio.models import Person

SHELF_MOMENTS = (Moment.LOADED, Moment.AFTER)
DRAWN_WIDTH = 1000.0
"""Of a photograph, in the drawing's own units."""
SIGN_BELOW = 12
"""A sign's foot below the middle of its circle, in the same units."""


@dataclass(frozen=True)
class MarkedSpot:
    """A spot with its number, and where it is drawn."""

    number: int
    row: PieceSpot
    x: float
    y: float
    radius: float

    @property
    def label_y(self) -> float:
        return self.y + SIGN_BELOW


@dataclass(frozen=True)
class MarkedPhotograph:
    """A photograph of a shelf with the pieces that its reader sees on it."""

    photograph: Photograph
    spots: list[MarkedSpot]

    @property
    def ratio(self) -> float:
        return self.photograph.height / self.photograph.width

    @property
    def height(self) -> float:
        return DRAWN_WIDTH * self.ratio

    def drawn(self, point: tuple[float, float] | None) -> tuple[float, float, float] | None:
        """Where a point of the photograph is drawn, and how low the sign upon it stands."""
        if point is None:
            return None
        x, y = point[0] * DRAWN_WIDTH, point[1] * self.height
        return x, y, y + SIGN_BELOW

    @property
    def proposed(self) -> int:
        return sum(spot.row.is_proposed for spot in self.spots)

    @property
    def says(self) -> str:
        names = ", ".join(
            f"{spot.number} {spot.row.loaded_piece.piece.title}" for spot in self.spots
        )
        return (
            f"The shelf. Marked on it: {names}." if names else "The shelf. No piece is marked yet."
        )


def spots_of(photograph: Photograph) -> QuerySet[PieceSpot]:
    spots = PieceSpot.objects.filter(photograph=photograph)
    return spots.select_related("loaded_piece__piece__maker")


def marked_photograph(photograph: Photograph, reader: Person) -> MarkedPhotograph:
    seen = visible_load(reader).filter(firing=photograph.firing_id)
    rows = spots_of(photograph).filter(loaded_piece__in=seen)
    height = DRAWN_WIDTH * photograph.height / photograph.width
    spots = [
        MarkedSpot(n, row, row.x * DRAWN_WIDTH, row.y * height, row.half_width * DRAWN_WIDTH)
        for n, row in enumerate(rows.order_by("loaded_piece"), start=1)
    ]
    return MarkedPhotograph(photograph, spots)


def pieces_to_mark(photograph: Photograph, person: Person) -> QuerySet[LoadedPiece]:
    return pieces_in(photograph.firing, person)


def may_mark(person: Person, firing: Firing) -> bool:
    """Whoever loads may say where pieces lie, and after that whoever may open it."""
    if firing.state in (FiringState.PLANNED, FiringState.FIRING):
        return access.may(person, "firing.write", firing)
    return access.may(person, "firing.open", firing)


def shelf_photographs(firing: Firing, reader: Person) -> QuerySet[Photograph]:
    """Those of the whole shelf, loaded or opened, that this reader sees."""
    return (
        visible_photographs(reader)
        .filter(firing=firing, loaded_piece=None, moment__in=SHELF_MOMENTS)
        .order_by("pk")
    )


def waits_for_its_maker(firing: Firing, person: Person) -> bool:
    """Whether some piece of somebody else was not judged yet."""
    return firing.load.filter(verdict=None).exclude(piece__maker=person).exists()
