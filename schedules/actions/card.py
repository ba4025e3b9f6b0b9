"""Keeps an old card: its photograph, with the schedule that was keyed from it."""

from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction

from schedules.actions.schedule import schedule_make
from schedules.models import Schedule, ScheduleCard
from studio.models import Person
from studio.pictures import PreparedPicture


@transaction.atomic
def schedule_card_keep(*, owner: Person, photograph: PreparedPicture, **schedule: Any) -> Schedule:
    """A new schedule, as `schedule_make` makes it, with the photograph of its card."""
    made = schedule_make(owner=owner, **schedule)
    card = ScheduleCard(
        schedule=made, width=photograph.width, height=photograph.height, added_by=owner
    )
    try:
        card.picture.save("large.jpg", ContentFile(photograph.large), save=False)
        card.small.save("small.jpg", ContentFile(photograph.small), save=False)
        card.full_clean()
        card.save()
    except BaseException:  # the rows go with the transaction; the files would stay behind
        for file in (card.picture, card.small):
            if file.name:
                file.storage.delete(file.name)
        raise
    return made
