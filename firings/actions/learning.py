"""Learns a kiln's response from the recordings of its firings, and keeps it beside the kiln."""

import hashlib
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from firings.core_inputs import curve_as_on_record, heating_service_day, started_since
from firings.models import Firing, FiringState, RecordingSeries
from firings.queries.record import series_without_readings
from firings.recording_inputs import series_of, series_recording
from firings.services.foretelling import foretells_as_well
from firings.services.full_power import seen_full_power
from firings.services.kiln_learning import learn_response
from firings.services.wall_learning import learn_walls
from firings.services.walls import Walls
from schedules.core_inputs import keyed_response_of
from studio.models import Kiln, LearntResponse
from studio.services.kiln_response import SECONDS_PER_HOUR, KilnResponse

LAST_RECORDINGS = 20
OF_WALLS = 8
"""Of these, the latest ones, the walls are learnt: more tell little, and take longer."""
WAY_OF_LEARNING = 2
"""Counted up when the same recordings would teach something else."""
KILN_FIGURES = (
    "full_power_limit_c",
    "rise_at_700_c_per_h",
    "cooling_constant_h",
    "slow_cooling_constant_h",
)
SERIES_FIGURES = ("started_at", "count", "peak_c", "duration_s", "hold_s", "heat_work")


def kiln_learn(*, kiln: Kiln, afresh: bool = False) -> LearntResponse | None:
    """What the last recordings since new elements or relays teach, beginning with the kiln's own
    figures; None, and nothing kept, where there are none.

    What was learnt already from the same is left as it stands, unless it is to be done afresh.
    """
    since = heating_service_day(kiln)
    firings = list(recorded_firings(kiln, since)[:LAST_RECORDINGS])
    if not firings:
        LearntResponse.objects.filter(kiln=kiln).delete()
        return None
    inputs = _inputs(kiln, since, firings)
    standing = LearntResponse.objects.filter(kiln=kiln).first()
    if standing is not None and standing.inputs == inputs and not afresh:
        return standing
    prior = keyed_response_of(kiln)
    plans = [curve_as_on_record(firing) for firing in firings]
    recordings = [
        series_recording(firing, series) for firing in firings if (series := series_of(firing))
    ]
    learnt = learn_response(recordings, plans, prior)
    walls = learn_walls(recordings[:OF_WALLS], plans[:OF_WALLS], prior)
    foretells = foretells_as_well(
        [each.duration_s for firing in firings if (each := series_of(firing))], plans, learnt
    )
    seen = [seen_full_power(*each, prior) for each in zip(recordings, plans, strict=True)]
    with transaction.atomic():
        kiln = Kiln.objects.select_for_update().get(pk=kiln.pk)
        now = list(recorded_firings(kiln, heating_service_day(kiln))[:LAST_RECORDINGS])
        if _inputs(kiln, heating_service_day(kiln), now) != inputs:
            return standing  # whatever changed meanwhile has learning of its own to follow
        for firing, at_full_power in zip(firings, seen, strict=True):
            RecordingSeries.objects.filter(pk=firing.pk).update(
                full_power_at_c=None if at_full_power is None else at_full_power.temperature,
                full_power_rise_c_per_h=None if at_full_power is None else at_full_power.rate,
            )
        return _keep(kiln, since, len(firings), inputs, learnt, walls, foretells)


def kiln_learn_soon(kiln_pk: int) -> None:
    """Once what is being saved is sure; what goes wrong there is logged, and spoils no saving."""

    def learn() -> None:  # not a partial: a robust callback is logged by its name
        kiln = Kiln.objects.filter(pk=kiln_pk).first()
        if kiln is not None:
            kiln_learn(kiln=kiln)

    transaction.on_commit(learn, robust=True)


def recorded_firings(kiln: Kiln, since: date | None) -> QuerySet[Firing]:
    """A kiln's opened firings with a series of readings, from a day on, the latest first."""
    return (
        Firing.objects.filter(
            started_since(since), kiln=kiln, state=FiringState.OPENED, series__isnull=False
        )
        .select_related("kiln", "revision__schedule")
        .prefetch_related("revision__segments", "keyed_differences", series_without_readings())
        .order_by("-started_at", "-pk")
    )


def _inputs(kiln: Kiln, since: date | None, firings: Sequence[Firing]) -> str:
    """Names all that the learning depends on."""
    told = [WAY_OF_LEARNING, since, [getattr(kiln, name) for name in KILN_FIGURES]] + [
        [
            firing.pk,
            firing.revision_id,
            firing.room_temperature_c,
            [[each.position, each.part, each.value] for each in firing.keyed_differences.all()],
            [getattr(series_of(firing), name) for name in SERIES_FIGURES],
        ]
        for firing in firings
    ]
    return hashlib.sha256(repr(told).encode()).hexdigest()


def _keep(
    kiln: Kiln,
    since: date | None,
    recordings: int,
    inputs: str,
    learnt: KilnResponse,
    walls: Walls,
    foretells: bool,
) -> LearntResponse:
    slow = learnt.slow_cooling_time_constant
    row = LearntResponse(
        kiln=kiln,
        full_power_limit_c=learnt.full_power_limit,
        rise_at_700_c_per_h=learnt.rise_at(700.0),
        cooling_constant_h=learnt.cooling_time_constant / SECONDS_PER_HOUR,
        slow_cooling_constant_h=None if slow is None else slow / SECONDS_PER_HOUR,
        covariance=[] if learnt.covariance is None else learnt.covariance.tolist(),
        walls=asdict(walls),
        recordings=recordings,
        since=since,
        foretells=foretells,
        learnt_at=timezone.now(),
        inputs=inputs,
    )
    row.full_clean(validate_unique=False)
    row.save()
    return row
