"""Who saves on studio devices, and what is told of them."""

from django.db.models import F, OuterRef, QuerySet, Subquery

from studio.models import Person, PersonAtDevice, SharedDevice
from studio.queries.names import ByName


def people_of_device(device: SharedDevice) -> QuerySet[Person]:
    """Everybody who has a short code; those who saved on this device first, the latest before."""
    saved = PersonAtDevice.objects.filter(device=device, person=OuterRef("pk"))
    return (
        Person.objects.filter(is_active=True, short_code__isnull=False)
        .alias(saved_at=Subquery(saved.values("saved_at")[:1]))
        .order_by(F("saved_at").desc(nulls_last=True), ByName("name"), "pk")
    )


def all_devices() -> QuerySet[SharedDevice]:
    return SharedDevice.objects.select_related("set_up_by", "taken_away_by")


def untold_locks(person: Person) -> QuerySet[PersonAtDevice]:
    """Where there were too many wrong codes in this person's name, until they say they know."""
    return (
        PersonAtDevice.objects.filter(person=person, untold_lock_at__isnull=False)
        .select_related("device")
        .order_by("-untold_lock_at")
    )
