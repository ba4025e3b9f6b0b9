"""Notes what was keyed into a memory slot of a kiln's controller."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from schedules.models import MemorySlot, Revision
from studio.models import Kiln, Person


@transaction.atomic
def slot_key(*, kiln: Kiln, slot: int, revision: Revision | None, by: Person) -> MemorySlot:
    """This revision now stands in that slot; None is a program that is not on record.

    What stood there is kept as replaced. The same again changes nothing: it stands since then.
    """
    kiln = Kiln.objects.select_for_update().get(pk=kiln.pk)
    if kiln.memory_slots is not None and slot > kiln.memory_slots:
        raise ValidationError(
            {"slot": f"{kiln}’s controller has {kiln.memory_slots} memory slots, by its record."}
        )
    standing = MemorySlot.objects.filter(kiln=kiln, slot=slot, replaced_at=None).first()
    wanted = None if revision is None else revision.pk
    if standing is not None:
        if standing.revision_id == wanted:
            return standing
        standing.replaced_at = timezone.now()
        standing.save(update_fields=["replaced_at"])
    keyed = MemorySlot(kiln=kiln, slot=slot, revision=revision, keyed_by=by)
    keyed.full_clean()
    keyed.save()
    return keyed
