"""What the studio brought from its past: firings of a list, and schedules of an old card."""

from typing import cast

from django.db.models import Q

from firings.models import BroughtFiring, Firing, FiringState
from firings.queries.visible import visible_load
from schedules.models import Schedule
from studio.models import Person


def brought_of(firing: Firing) -> BroughtFiring | None:
    """Select `brought` where many firings are looked at."""
    return cast(BroughtFiring | None, getattr(firing, "brought", None))


def logged_here(firing: str = "") -> Q:
    """Firings of which the studio knew at the time; `firing` is the way to them, as “firing__”.

    What is brought in waits for nobody: no verdict or review is asked for it, and nobody is
    charged.
    """
    return Q(**{f"{firing}brought__isnull": True})


def is_unproven(schedule: Schedule, reader: Person) -> bool:
    """Whether nothing that was logged here by it was judged, as far as this reader sees."""
    judged = Q(verdict__isnull=False) | Q(review__verdict__isnull=False)
    fired = visible_load(reader).filter(
        logged_here("firing__"),
        firing__revision__schedule=schedule,
        firing__state=FiringState.OPENED,
    )
    return not fired.filter(judged).exists()
