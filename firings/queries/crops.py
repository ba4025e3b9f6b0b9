"""What was cut out of photographs of a shelf, for the maker of each piece."""

from django.db.models import OuterRef, Prefetch, QuerySet, Subquery

from firings.models import LoadedPiece, Moment, PieceSpot


def _of_outcome() -> QuerySet[PieceSpot]:
    after = PieceSpot.objects.filter(photograph__moment=Moment.AFTER).select_related("photograph")
    return after.order_by("-photograph")


def crops_of(loaded: LoadedPiece) -> QuerySet[PieceSpot]:
    """What shows one piece as it came out, the latest first."""
    return _of_outcome().filter(loaded_piece=loaded)


def crops_of_all() -> Prefetch:
    """On loaded pieces, as `crops`: each in its turn."""
    spots = PieceSpot.objects.select_related("photograph").order_by("photograph")
    return Prefetch("spots", spots, to_attr="crops")


def with_latest_crop(pieces: QuerySet[LoadedPiece]) -> list[LoadedPiece]:
    """The pieces, each with `crops`: the latest that shows it as it came out, or none.

    Within the query of the pieces, for a page that has many others to ask.
    """
    latest = _of_outcome().filter(loaded_piece=OuterRef("pk"))
    rows = pieces.annotate(
        crop_pk=Subquery(latest.values("pk")[:1]), crop_file=Subquery(latest.values("crop")[:1])
    )
    found: list[LoadedPiece] = []
    for loaded in rows:
        known = loaded.crop_pk is not None
        loaded.crops = [PieceSpot(pk=loaded.crop_pk, crop=loaded.crop_file)] if known else []  # type: ignore[attr-defined]
        found.append(loaded)
    return found
