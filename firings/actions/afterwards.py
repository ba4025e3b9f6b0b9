"""Writes down a firing that is over, with its first piece, verdict and photographs, in one go."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q

from firings.actions.judging import piece_judge
from firings.actions.load import piece_load
from firings.actions.photographs import photographs_add
from firings.models import Firing, FiringState
from schedules.models import Revision
from studio.models import Kiln, Person
from studio.pictures import PreparedPicture


@transaction.atomic
def firing_note_afterwards(
    *,
    kiln: Kiln,
    revision: Revision,
    fired_by: Person,
    written_by: Person,
    started_at: datetime,
    opened_at: datetime,
    title: str,
    piece: dict[str, Any],
    verdict: int | None,
    pictures: Sequence[PreparedPicture] = (),
    **recorded: Any,
) -> Firing:
    """An opened firing with one piece. `recorded` are the firing's fields of that name.

    Raises `ValidationError` when the kiln held another firing at the time.
    """
    kiln = Kiln.objects.select_for_update().get(pk=kiln.pk)
    _was_free(kiln, started_at, opened_at)
    firing = Firing(
        kiln=kiln,
        revision=revision,
        fired_by=fired_by,
        written_by=written_by,
        state=FiringState.OPENED,
        started_at=started_at,
        opened_at=opened_at,
        title=title,
        **recorded,
    )
    firing.full_clean()
    firing.save()
    loaded = piece_load(firing=firing, maker=fired_by, title=title, is_served=True, **piece)
    piece_judge(loaded=loaded, by=written_by, verdict=verdict)
    photographs_add(firing=firing, by=written_by, pictures=pictures, loaded_piece=loaded)
    return firing


def _was_free(kiln: Kiln, started_at: datetime, opened_at: datetime) -> None:
    other = (
        Firing.objects.filter(kiln=kiln, started_at__lt=opened_at)
        .filter(Q(opened_at=None) | Q(opened_at__gt=started_at))
        .first()
    )
    if other is not None:
        raise ValidationError(
            {
                "started_at": ValidationError(
                    "%(other)s was in %(kiln)s then. Is it the same one?",
                    params={"other": other, "kiln": kiln},
                    code="kiln_taken",
                )
            }
        )
