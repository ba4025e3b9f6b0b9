"""A firing with all that its page shows."""

from django.db.models import Case, IntegerField, Prefetch, QuerySet, When
from django.shortcuts import get_object_or_404

from firings.models import (
    Firing,
    FiringEvent,
    FiringState,
    Moment,
    RecordingFile,
    RecordingSeries,
    SpotReading,
    StartCheck,
)
from firings.queries.visible import as_seen_by, visible_load, visible_photographs
from studio.models import GlassKind, Person


def series_without_readings() -> Prefetch:
    """For lists: what a firing's readings came to, never the readings."""
    return Prefetch("series", RecordingSeries.objects.defer("packed"))


def firings_for_page(reader: Person | None = None) -> QuerySet[Firing]:
    """Firings with all that was noted of them, as far as this reader sees it: eleven queries."""
    load = (
        visible_load(reader)
        .select_related(
            "piece__maker",
            "glass__family",
            "place",
            "lies_on",
            "judged_by",
            "review__reviewed_by",
            "rung__ladder",
        )
        .prefetch_related(
            "faults", Prefetch("other_glasses", GlassKind.objects.select_related("family"))
        )
    )
    by_moment = Case(
        *[When(moment=moment, then=place) for place, moment in enumerate(Moment.values)],
        output_field=IntegerField(),
    )
    photographs = (
        visible_photographs(reader)
        .select_related("taken_by", "loaded_piece__piece__maker")
        .order_by(by_moment, "pk")
    )
    return (
        Firing.objects.select_related(
            "kiln__learnt_response",
            "revision__schedule__family",
            "fired_by",
            "written_by",
            "opened_by",
            "forecast_score__forecast__revision",
            "brought__taken__by",
        )
        .defer("brought__taken__packed", "brought__taken__judged")
        .prefetch_related(
            "revision__segments",
            Prefetch("load", load),
            Prefetch("photographs", photographs),
            Prefetch("events", FiringEvent.objects.select_related("noted_by")),
            Prefetch("start_checks", StartCheck.objects.select_related("looked_by")),
            "keyed_differences",
            Prefetch("spot_readings", SpotReading.objects.select_related("noted_by")),
            Prefetch("recording_files", RecordingFile.objects.select_related("added_by")),
        )
    )


def firing_for_page(pk: int, reader: Person | None = None) -> Firing:
    """The firing as its page shows it; `Http404` when there is none."""
    return as_seen_by(reader, get_object_or_404(firings_for_page(reader), pk=pk))


def moment_to_photograph(firing: Firing) -> Moment:
    """What a photograph of this firing is likely to show, as it stands now."""
    if firing.state == FiringState.PLANNED:
        return Moment.BEFORE
    return Moment.AFTER if firing.state == FiringState.OPENED else Moment.LOADED
