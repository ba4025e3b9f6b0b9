"""Finished pieces of the demo studio that wait to be collected; one is overdue."""

from datetime import datetime, timedelta

from firings.actions.storage import piece_store
from firings.models import FiringState, Piece
from studio.models import Person

KEPT_DAYS = (-6, 3, 20, 28)


def storage_make(people: dict[str, Person], now: datetime) -> None:
    finished = Piece.objects.filter(
        firings__firing__state=FiringState.OPENED,
        firings__firing__is_private=False,
        maker__in=[people["ravi"], people["wilf"]],
    )
    for days, piece in zip(KEPT_DAYS, finished.distinct().order_by("-pk"), strict=False):
        piece_store(
            piece=piece,
            by=people["oona"],
            place="shelf C, by the window",
            keep_until=now.date() + timedelta(days=days),
            even_past=True,
        )
