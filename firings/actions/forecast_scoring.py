"""Scores kept forecasts by the firings that came after them."""

from bisect import bisect_right
from collections.abc import Sequence

from django.db import transaction

from firings.advice_inputs import judged_piece
from firings.core_inputs import keyed_segments
from firings.models import FiredAs, Firing, Forecast, ForecastScore
from firings.services.evidence import PastFiring
from firings.services.forecast_kept import fired_as
from firings.services.pieces import combine_pieces
from firings.services.top import find_top, with_top
from schedules.core_inputs import core_segments
from schedules.models import Schedule
from schedules.services.curve import Segment


@transaction.atomic
def forecasts_score(
    *, schedule: Schedule, firings: Sequence[Firing], past: Sequence[PastFiring]
) -> list[ForecastScore]:
    """The scores of a schedule's firings in one kiln: each judged one beside the forecast that
    stood at its start.

    Firings come as from `firings_of_schedule`, and `past` as from `past_firings` of them. Scores
    of theirs that no longer hold are deleted.
    """
    ledger = list(
        Forecast.objects.filter(
            revision__schedule=schedule, kiln__in={firing.kiln_id for firing in firings}
        )
        .select_related("revision")
        .prefetch_related("revision__segments", "rests_on")
        .order_by("given_at", "pk")
    )
    before = {score.pk: score for score in ForecastScore.objects.filter(firing__in=firings)}
    told = {each.firing: each for each in past}
    made = (_score_of(firing, ledger, told.get(firing.pk)) for firing in firings)
    scores = [score for score in made if score is not None]
    gone = before.keys() - {score.firing_id for score in scores}
    if gone:
        ForecastScore.objects.filter(pk__in=gone).delete()
    for score in scores:
        known = before.get(score.firing_id)
        if known is None or _told(known) != _told(score):
            score.save(force_insert=known is None, force_update=known is not None)
    return scores


def _told(score: ForecastScore) -> tuple[object, ...]:
    return score.forecast_id, score.fired, score.verdict


def _score_of(
    firing: Firing, ledger: Sequence[Forecast], past: PastFiring | None
) -> ForecastScore | None:
    """None where it is not judged, was brought in, or no forecast stood at its start."""
    combined = combine_pieces([judged_piece(loaded) for loaded in firing.load.all()])
    if combined is None or firing.started_at is None or firing.is_brought_in:
        return None
    stood = bisect_right(ledger, firing.started_at, key=lambda each: each.given_at)
    earlier = (each for each in reversed(ledger[:stood]) if not _knew(each, firing))
    forecast = next(earlier, None)
    if forecast is None:
        return None
    return ForecastScore(
        firing=firing,
        forecast=forecast,
        fired=_fired(firing, forecast, past),
        verdict=combined.verdict,
    )


def _knew(forecast: Forecast, firing: Firing) -> bool:
    """A forecast that rests on the firing itself foretells nothing, whatever start was noted."""
    return forecast.firing_id == firing.pk or firing in forecast.rests_on.all()


def _fired(firing: Firing, forecast: Forecast, past: PastFiring | None) -> FiredAs:
    """`past` is None where the firing was stopped early or lost its power."""
    fired = FiredAs(
        fired_as(keyed_segments(firing), core_segments(forecast.revision), _advised(forecast))
    )
    if fired == FiredAs.OTHERWISE:
        return fired
    if past is None:
        return FiredAs.BROKEN_OFF
    return FiredAs.MISSED if past.missed_plan else fired


def _advised(forecast: Forecast) -> list[Segment] | None:
    """The revision with the change that was advised, or None."""
    if not forecast.is_change:
        return None
    segments = core_segments(forecast.revision)
    top = find_top(segments)
    return with_top(segments, top.peak + forecast.peak_delta_c, top.hold + forecast.hold_delta_s)
