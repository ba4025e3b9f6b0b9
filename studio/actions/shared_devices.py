"""Sets studio devices up, takes them away, and knows them again by their token."""

from datetime import timedelta

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.views.decorators.debug import sensitive_variables

from studio import tokens
from studio.models import Person, SharedDevice

SEEN_EVERY = timedelta(hours=1)


@sensitive_variables("secret")
@transaction.atomic
def device_set_up(*, name: str, unit: str, by: Person) -> tuple[SharedDevice, str]:
    """A device, and the token that its browser is given: it is kept nowhere.

    Raises `ValidationError` where a device of that name stands.
    """
    secret = tokens.new_secret()
    device = SharedDevice(name=name, unit=unit, digest=tokens.digest(secret), set_up_by=by)
    device.full_clean()
    device.save()
    return device, f"{device.pk}.{secret}"


@transaction.atomic
def device_take_away(*, device: SharedDevice, by: Person) -> SharedDevice:
    """The device, good for nothing any more from its next click on; what was saved stays."""
    locked = SharedDevice.objects.select_for_update().get(pk=device.pk)
    if locked.taken_away_at is None:
        locked.taken_away_at, locked.taken_away_by = timezone.now(), by
        locked.save(update_fields=["taken_away_at", "taken_away_by"])
    return locked


@sensitive_variables("given", "parts")
def device_of(given: str) -> SharedDevice | None:
    """The device whose token this is, taken away or not; None for one that never was."""
    parts = tokens.number_and_secret(given)
    if parts is None:
        return None
    device = SharedDevice.objects.select_related("taken_away_by").filter(pk=parts[0]).first()
    same = tokens.is_secret_of(parts[1], None if device is None else device.digest)
    return device if same else None


def device_seen(*, device: SharedDevice) -> bool:
    """Note that it is in use; whether that was news, which it is once an hour."""
    now = timezone.now()
    if device.last_seen_at is not None and now - device.last_seen_at < SEEN_EVERY:
        return False
    unseen = Q(last_seen_at=None) | Q(last_seen_at__lte=now - SEEN_EVERY)
    return bool(SharedDevice.objects.filter(unseen, pk=device.pk).update(last_seen_at=now))
