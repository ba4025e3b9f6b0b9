"""The energy of a firing whose meter nobody read, by its recording or its plan."""

from dataclasses import dataclass
from typing import Literal

from django.db.models import QuerySet

from firings.core_inputs import keyed_segments, recording_of, walls_of
from firings.models import Firing, FiringState
from firings.services.energy import (
    EnergyFactor,
    EnergyUse,
    learn_energy_factor,
    planned_energy,
    recorded_energy,
)
from firings.services.noted_top import kept_curve
from firings.services.recording import Recording
from firings.services.walls import Walls
from schedules.core_inputs import response_of
from schedules.services.curve import Curve
from studio.models import Kiln

MOST_METERED = 4
"""Of the kiln's latest metered firings its factor is learnt, each computed as this one is."""

By = Literal["recording", "plan"]


@dataclass(frozen=True)
class FiringEnergy:
    """`by`: what it was computed from; `metered`: how many metered firings of the kiln it rests on,
    0 where there are too few to count."""

    use: EnergyUse
    by: By
    metered: int


def firing_energy(firing: Firing, curve: Curve, recording: Recording) -> FiringEnergy | None:
    """None where a meter was read, and where the kiln's power or its course is not known.

    `recording` counts once the firing is opened. Four queries, whatever was metered.
    """
    power = firing.kiln.power_kw
    if firing.energy_kwh is not None or power is None or firing.state == FiringState.CALLED_OFF:
        return None
    read = firing.state == FiringState.OPENED and recording.is_series
    by: By = "recording" if read else "plan"
    factor = _factor_of(firing, power, by)
    use = _use_of(curve, recording, power, by, walls_of(firing.kiln), factor)
    if use is None:
        return None
    return FiringEnergy(use, by, factor.firings if factor.counts else 0)


def firings_for_energy() -> QuerySet[Firing]:
    """With all that `computed_energy` reads of them."""
    return Firing.objects.select_related("kiln__learnt_response", "series").prefetch_related(
        "revision__segments", "keyed_differences", "spot_readings"
    )


def computed_energy(firing: Firing) -> FiringEnergy | None:
    """As `firing_energy`, by its own plan and recording; of a firing from `firings_for_energy`."""
    return firing_energy(firing, _curve_in(firing.kiln, firing), recording_of(firing))


def _curve_in(kiln: Kiln, firing: Firing) -> Curve:
    segments = tuple(keyed_segments(firing))
    return kept_curve(segments, response_of(kiln, firing.room_temperature_c))


def _use_of(
    curve: Curve,
    recording: Recording,
    power: float,
    by: By,
    walls: Walls | None,
    factor: EnergyFactor | None = None,
) -> EnergyUse | None:
    try:
        if by == "plan":
            if curve.unreached is not None:
                return None
            return planned_energy(curve, power, factor, walls=walls)
        return recorded_energy(
            recording.times,
            recording.temperatures,
            curve.response,
            power,
            factor,
            walls=walls,
            gaps=recording.gaps,
        )
    except ValueError:  # a recording too short, or whose times tell nothing
        return None


def _factor_of(firing: Firing, power: float, by: By) -> EnergyFactor:
    metered = (
        firings_for_energy()
        .filter(kiln=firing.kiln_id, state=FiringState.OPENED, energy_kwh__gt=0)
        .exclude(pk=firing.pk)
        .order_by("-started_at")
    )
    if by == "recording":
        metered = metered.exclude(series=None)
    pairs, walls = [], walls_of(firing.kiln)
    for each in metered[:MOST_METERED]:
        use = _use_of(_curve_in(firing.kiln, each), recording_of(each), power, by, walls)
        if use is not None and use.kwh > 0 and each.energy_kwh:
            pairs.append((use.kwh, float(each.energy_kwh)))
    return learn_energy_factor(pairs)
