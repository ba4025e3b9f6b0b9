"""What stands in the memory slots of the demo studio's controllers: one of them is stale."""

from schedules.actions.controller_memory import slot_key
from schedules.models import Revision
from studio.models import Kiln

KEYED = 4


def memory_make(kilns: dict[str, Kiln]) -> None:
    """The schedules that were fired last in each kiln; the first of them as it was before."""
    for kiln in kilns.values():
        fired = Revision.objects.filter(firings__kiln=kiln, firings__started_at__isnull=False)
        latest: dict[int, Revision] = {}
        for revision in fired.select_related("schedule__owner").order_by("-firings__started_at"):
            latest.setdefault(revision.schedule_id, revision)
        for slot, revision in enumerate(list(latest.values())[:KEYED], start=1):
            before = revision.schedule.revisions.filter(number__lt=revision.number).first()
            keyed = before if slot == 1 and before is not None else revision
            slot_key(kiln=kiln, slot=slot, revision=keyed, by=revision.schedule.owner)
