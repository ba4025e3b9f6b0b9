"""Refuses to start what an instructor has to clear first."""

from django.core.exceptions import ValidationError

from firings.models import Firing
from firings.queries.clearing import clearing_of


def refuse_uncleared(firing: Firing) -> None:
    """Raises `ValidationError` for a planned firing that waits to be cleared."""
    if (refused := refusal(firing)) is not None:
        raise refused


def refusal(firing: Firing) -> ValidationError | None:
    """Why a planned firing can't be started yet, and who can help; None where it may."""
    clearing = clearing_of(firing)
    if clearing.may_start:
        return None
    who = " or ".join(person.name for person in clearing.clearers) or "an instructor"
    words = {
        "waiting": "It waits to be cleared by %(who)s.",
        "returned": "%(by)s returned it: mend what is said there first.",
        "changed": "It was changed since it was cleared, and waits for %(who)s again.",
    }[clearing.standing]
    by = clearing.latest.decided_by.name if clearing.latest else ""
    return ValidationError(words, params={"who": who, "by": by}, code="not_cleared")
