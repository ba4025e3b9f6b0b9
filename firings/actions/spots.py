"""Says where pieces lie on a photograph of their shelf, and cuts out the crop of each."""

from collections.abc import Iterable, Sequence

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import Max

from firings.models import LoadedPiece, Photograph, PieceSpot
from firings.queries.spots import SHELF_MOMENTS, spots_of
from firings.services.shelf_spots import Picture, Spot, crop_box, half_width_of, proposed
from studio.models import Person
from studio.pictures import cut_out


@transaction.atomic
def spot_put(
    *,
    photograph: Photograph,
    loaded: LoadedPiece,
    by: Person,
    x: float,
    y: float,
    half_width: float | None = None,
) -> PieceSpot:
    """The piece at this point of a photograph, or moved there; without a half-width it stays as
    large as it was marked, or is as large as its size on record makes it.

    Raises `ValidationError` for a piece of another firing, and for a photograph of one piece.
    """
    photograph = _shelf_photograph(photograph.pk)
    if loaded.firing_id != photograph.firing_id:
        raise ValidationError(f"“{loaded.piece}” lies in another firing.", code="firing")
    marked = spots_of(photograph).filter(loaded_piece=loaded).first()
    if half_width is None and marked is not None:
        half_width = marked.half_width
    elif half_width is None:
        half_width = half_width_of(_longest(loaded), _shelf_of(photograph), picture_of(photograph))
    return _put(photograph, [(loaded, Spot(x, y, half_width))], by, is_proposed=False)[0]


@transaction.atomic
def spots_propose(*, photograph: Photograph, by: Person) -> list[PieceSpot]:
    """The spots of the latest other photograph of this shelf that has any, on this one too.

    Empty where that was taken in another frame, as its proportions tell.
    """
    photograph = _shelf_photograph(photograph.pk)
    others = Photograph.objects.filter(firing=photograph.firing_id, loaded_piece=None)
    before = (
        others.exclude(pk=photograph.pk)
        .annotate(last=Max("spots"))
        .exclude(last=None)
        .order_by("-pk")
        .first()
    )
    if before is None:
        return []
    known = {each.loaded_piece_id: each for each in spots_of(before)}
    found = proposed(
        {pk: each.spot for pk, each in known.items()},
        picture_of(before),
        picture_of(photograph),
        [each.loaded_piece_id for each in spots_of(photograph)],
    )
    wanted = [(known[pk].loaded_piece, spot) for pk, spot in found.items()]
    return _put(photograph, wanted, by, is_proposed=True)


@transaction.atomic
def shelf_photographed(*, photographs: Iterable[Photograph], by: Person) -> Photograph | None:
    """Proposes spots on what was just photographed of a whole shelf; the first that took any."""
    for each in photographs:
        of_shelf = each.loaded_piece_id is None and each.moment in SHELF_MOMENTS
        if of_shelf and spots_propose(photograph=each, by=by):
            return each
    return None


@transaction.atomic
def spots_confirm(*, photograph: Photograph, by: Person) -> int:
    """How many proposed spots of it somebody has found to fit."""
    _shelf_photograph(photograph.pk)
    spots = [each for each in spots_of(photograph) if each.is_proposed]
    for spot in spots:
        spot.is_proposed, spot.put_by = False, by
        spot.save(update_fields=["is_proposed", "put_by"])
    return len(spots)


def crop_file_remove(*, spot: PieceSpot) -> None:
    """Once the change that made it needless is sure."""
    storage, name = spot.crop.storage, spot.crop.name
    if name:
        transaction.on_commit(lambda: storage.delete(name))


def picture_of(photograph: Photograph) -> Picture:
    return Picture(photograph.width, photograph.height)


def _shelf_photograph(pk: int) -> Photograph:
    """Locked, so that of two who mark the same piece one comes after the other."""
    photograph = (
        Photograph.objects.select_for_update(of=("self",))
        .select_related("firing__kiln")
        .filter(pk=pk)
        .first()
    )
    if photograph is None:
        raise ValidationError("The photograph was removed meanwhile.", code="gone")
    if photograph.loaded_piece_id is not None:
        raise ValidationError(
            "This photograph is of one piece; pieces are marked on one of the whole shelf.",
            code="of_a_piece",
        )
    return photograph


def _shelf_of(photograph: Photograph) -> tuple[float, float]:
    kiln = photograph.firing.kiln
    return kiln.chamber_width_mm, kiln.chamber_depth_mm


def _longest(loaded: LoadedPiece) -> float | None:
    sides = [side for side in (loaded.length_mm, loaded.width_mm) if side]
    return max(sides, default=None)


def _put(
    photograph: Photograph,
    wanted: Sequence[tuple[LoadedPiece, Spot]],
    by: Person,
    *,
    is_proposed: bool,
) -> list[PieceSpot]:
    """All crops are cut out of one reading of the picture."""
    if not wanted:
        return []
    there = {each.loaded_piece_id: each for each in spots_of(photograph)}
    boxes = [crop_box(spot, picture_of(photograph)) for _, spot in wanted]
    try:
        with photograph.picture.open("rb") as file:
            crops = cut_out(file, boxes)  # type: ignore[arg-type]
    except OSError as lost:
        raise ValidationError(
            "The file of this photograph is missing; take it anew.", code="no_file"
        ) from lost
    made: list[PieceSpot] = []
    try:
        for (loaded, spot), crop in zip(wanted, crops, strict=True):
            row = there.get(loaded.pk) or PieceSpot(photograph=photograph, loaded_piece=loaded)
            crop_file_remove(spot=row)
            row.x, row.y, row.half_width = spot.x, spot.y, spot.half_width
            row.is_proposed, row.put_by = is_proposed, by
            row.crop_width, row.crop_height = crop.width, crop.height
            row.full_clean(exclude=["crop"])
            row.crop.save("crop.jpg", ContentFile(crop.jpeg), save=False)
            made.append(row)
            row.save()
    except BaseException:  # the rows go with the transaction; the files would stay behind
        for row in made:
            row.crop.storage.delete(row.crop.name or "")
        raise
    return made
