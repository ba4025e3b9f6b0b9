"""Clears a student's planned firing, returns it, or lets it go without clearing.

Each decision locks the firing's row and looks again, so that of two people one is told what the
other decided.
"""

from django.core.exceptions import ValidationError
from django.db import transaction

from firings.actions.record import StateError
from firings.models import Clearing, ClearingDecision, Firing, FiringState, LoadedPiece
from firings.queries.clearing import seen_of
from studio.models import Person


class DecidedMeanwhileError(ValidationError):
    """Somebody else decided, or the plan was changed, since whoever acts looked."""


@transaction.atomic
def firing_decide(
    *,
    firing: Firing,
    by: Person,
    decision: ClearingDecision,
    seen: str,
    latest: int | None,
    comment: str = "",
    segment: int | None = None,
    loaded_piece: LoadedPiece | None = None,
) -> Clearing:
    """The decision on what was `seen`, the digest of what its page showed.

    `latest` is the decision that the page showed, None for none. Raises `StateError` where the
    firing is planned no longer, `DecidedMeanwhileError` where another decision was made or the
    plan was changed meanwhile, `ValidationError` where a return or an override doesn't say why.
    """
    locked = Firing.objects.select_for_update().get(pk=firing.pk)
    if locked.state != FiringState.PLANNED:
        raise StateError(locked)
    made = locked.clearings.select_related("decided_by").first()
    if made is not None and made.pk != latest:
        raise DecidedMeanwhileError(
            "%(who)s decided meanwhile: %(what)s. Look at it again.",
            params={"who": made.decided_by, "what": made.get_decision_display()},
        )
    if seen_of(locked) != seen:
        raise DecidedMeanwhileError("The plan was changed meanwhile. Look at it again.")
    clearing = Clearing(
        firing=locked,
        decision=decision,
        seen=seen,
        comment=comment,
        segment=segment,
        loaded_piece=loaded_piece,
        decided_by=by,
    )
    clearing.full_clean()
    clearing.save()
    return clearing
