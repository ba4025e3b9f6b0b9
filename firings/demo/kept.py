"""One firing of the demo studio that its artist keeps to herself, as few others see it."""

from firings.models import Firing, FiringState
from studio.models import Person


def kept_make(artist: Person) -> Firing:
    """The one before the latest of her castings; what it says is counted for her alone."""
    castings = Firing.objects.filter(
        fired_by=artist, state=FiringState.OPENED, revision__schedule__process="cast"
    )
    kept = castings.order_by("-started_at")[1]
    kept.is_private = True
    kept.notes = "A wedding present: not a word to anybody before June."
    kept.save()
    return kept
