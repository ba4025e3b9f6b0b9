"""Keeps what somebody saw on a piece: the verdict, and the faults beside it."""

from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from firings.models import Fault, FiringState, LoadedPiece
from studio.models import Person


@transaction.atomic
def piece_judge(
    *,
    loaded: LoadedPiece,
    by: Person,
    verdict: int | None,
    at: datetime | None = None,
    anew: bool = False,
    **facts: Any,
) -> LoadedPiece:
    """The piece with its verdict; None takes a verdict back, to "not judged yet".

    A verdict that stays is as old as it was, unless it is given `anew`; `at` is when, where that is
    not now. `facts` are the sizes after and the remarks. Raises `ValidationError` before the
    opening.
    """
    loaded = LoadedPiece.objects.select_for_update().get(pk=loaded.pk)
    if verdict is not None:
        _was_opened(loaded)
    if anew or verdict != loaded.verdict:
        loaded.verdict = verdict
        loaded.judged_by = None if verdict is None else by
        loaded.judged_at = None if verdict is None else at or timezone.now()
    for name, value in facts.items():
        setattr(loaded, name, value)
    loaded.full_clean()
    loaded.save()
    return loaded


@transaction.atomic
def fault_add(
    *, loaded: LoadedPiece, by: Person, kind: str, severity: int, seen_on: date, note: str = ""
) -> Fault:
    """A fault beside the verdict. Raises `ValidationError` before the opening."""
    _was_opened(loaded)
    fault = Fault(
        loaded_piece=loaded,
        kind=kind,
        severity=severity,
        seen_on=seen_on,
        note=note,
        noted_by=by,
    )
    fault.full_clean()
    fault.save()
    return fault


def _was_opened(loaded: LoadedPiece) -> None:
    if loaded.firing.state != FiringState.OPENED:
        raise ValidationError("A piece is judged once its kiln was opened.", code="state")
