"""A firing with all that its page shows, and what is odd about its load."""

from dataclasses import dataclass

from django.db.models import Case, IntegerField, Prefetch, QuerySet, When
from django.shortcuts import get_object_or_404

from firings.models import Firing, FiringState, LoadedPiece, Moment, Photograph, RecordingSeries
from studio.models import Kiln


def series_without_readings() -> Prefetch:
    """For lists: what a firing's readings came to, never the readings."""
    return Prefetch("series", RecordingSeries.objects.defer("packed"))


def firings_for_page() -> QuerySet[Firing]:
    """Firings with all that was noted of them: thirteen queries for one."""
    load = LoadedPiece.objects.select_related(
        "piece__maker", "glass__family", "place", "judged_by"
    ).prefetch_related("faults")
    by_moment = Case(
        *[When(moment=moment, then=place) for place, moment in enumerate(Moment.values)],
        output_field=IntegerField(),
    )
    photographs = Photograph.objects.select_related("taken_by", "loaded_piece__piece").order_by(
        by_moment, "pk"
    )
    return Firing.objects.select_related(
        "kiln__learnt_response",
        "revision__schedule__family",
        "fired_by",
        "written_by",
        "opened_by",
    ).prefetch_related(
        "revision__segments",
        Prefetch("load", load),
        Prefetch("photographs", photographs),
        "events__noted_by",
        "keyed_differences",
        "spot_readings__noted_by",
        "recording_files__added_by",
    )


def firing_for_page(pk: int) -> Firing:
    """The firing as its page shows it; `Http404` when there is none."""
    return get_object_or_404(firings_for_page(), pk=pk)


def moment_to_photograph(firing: Firing) -> Moment:
    """What a photograph of this firing is likely to show, as it stands now."""
    if firing.state == FiringState.PLANNED:
        return Moment.BEFORE
    return Moment.AFTER if firing.state == FiringState.OPENED else Moment.LOADED


@dataclass(frozen=True)
class LoadRemark:
    """Something odd about a load: a code, and what it is about. The words stand in a template.

    Codes: "families_mixed" (names: the families), "other_family" (names: those of the load that
    are not the schedule's), "thickness_outside" (names: the pieces).
    """

    code: str
    names: tuple[str, ...]


def load_remarks(firing: Firing) -> list[LoadRemark]:
    """What to say about the load of a firing from `firing_for_page`; asks the database nothing."""
    remarks: list[LoadRemark] = []
    schedule = firing.revision.schedule
    pieces = list(firing.load.all())
    families = dict.fromkeys(loaded.glass.family for loaded in pieces if loaded.glass)
    if len(families) > 1:
        remarks.append(LoadRemark("families_mixed", tuple(str(family) for family in families)))
    strange = [family for family in families if family.pk != schedule.family_id]
    if schedule.family_id and strange:
        remarks.append(LoadRemark("other_family", tuple(str(family) for family in strange)))
    outside = [
        loaded.piece.title
        for loaded in pieces
        if loaded.thickest_mm is not None
        and not schedule.thinnest_mm <= loaded.thickest_mm <= schedule.thickest_mm
    ]
    if outside:
        remarks.append(LoadRemark("thickness_outside", tuple(outside)))
    too_large = [loaded.piece.title for loaded in pieces if not _lies_in(loaded, firing.kiln)]
    if too_large:
        remarks.append(LoadRemark("larger_than_chamber", tuple(too_large)))
    return remarks


def _lies_in(loaded: LoadedPiece, kiln: Kiln) -> bool:
    """Whether a piece goes into the chamber either way round; an unknown size does."""
    length, width = loaded.length_mm or 0.0, loaded.width_mm or 0.0
    shorter, longer = sorted((kiln.chamber_width_mm, kiln.chamber_depth_mm))
    return min(length, width) <= shorter and max(length, width) <= longer
