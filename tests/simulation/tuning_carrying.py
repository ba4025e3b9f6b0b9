"""What was fired in one kiln, as another kiln's logbook would have it."""

from collections.abc import Sequence
from dataclasses import replace
from math import exp, log

from firings.services.evidence import PastFiring
from tests.simulation.tuning import AS_BEGUN, terms_of


def relabelled(past: Sequence[PastFiring], kiln: str) -> list[PastFiring]:
    """The same firings, in a kiln of another name."""
    return [replace(one, kiln=kiln) for one in past]


def carried_exactly(past: Sequence[PastFiring], degrees: float) -> list[PastFiring]:
    """As if fired in this kiln, with displays that many °C higher: its offset known exactly."""
    table = terms_of(*AS_BEGUN).display
    carried = []
    for one in past:
        peak = float(table.peak_for(log(one.heat_work), one.hold)) + degrees
        carried.append(replace(one, heat_work=exp(float(table.ln_heat_work(peak, one.hold)))))
    return carried
