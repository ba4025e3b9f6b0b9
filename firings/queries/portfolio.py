"""A person's finished pieces, with the photographs that stand for them."""

from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import Count, Prefetch

from firings.models import LoadedPiece, Moment, Photograph
from firings.queries.progress import pieces_of
from studio import access
from studio.models import Person

MOST_PHOTOGRAPHS = 2


@dataclass(frozen=True)
class PortfolioPiece:
    """`photographs`: of the piece, or else of a load in which nothing else lay."""

    loaded: LoadedPiece
    photographs: list[Photograph]
    is_shown: bool


def portfolio_of(
    person: Person, reader: Person, numbers: Collection[int] = ()
) -> list[PortfolioPiece]:
    """All pieces out of opened firings, the first one first, with those shown that are named, or
    else those with a photograph that this reader may see. Four queries."""
    finished = Photograph.objects.filter(moment=Moment.AFTER).order_by("pk")
    pieces = (
        pieces_of(person)
        .annotate(lying=Count("firing__load"))
        .prefetch_related(
            Prefetch("photographs", finished),
            Prefetch("firing__photographs", finished.filter(loaded_piece=None)),
        )
    )
    found = []
    for loaded in reversed(pieces):
        taken = list(loaded.photographs.all())
        if not taken and loaded.lying == 1:
            taken = list(loaded.firing.photographs.all())
        for photograph in taken:
            photograph.firing = loaded.firing
        seen = [each for each in taken if access.may(reader, "firing.see_load", each)]
        is_shown = loaded.pk in numbers if numbers else bool(seen)
        found.append(PortfolioPiece(loaded, seen[:MOST_PHOTOGRAPHS], is_shown))
    return found
