"""A studio device of the demo, and short codes with which to save on one."""

from datetime import datetime, timedelta

from studio.actions.shared_devices import device_set_up
from studio.actions.short_codes import short_code_set
from studio.models import Person, PersonAtDevice

SHORT_CODES = {"inka": "5839", "oona": "2947", "ravi": "8316"}


def devices_make(people: dict[str, Person], now: datetime) -> None:
    """Its token is kept nowhere: whoever tries it out makes their own browser a device."""
    device, _ = device_set_up(name="mill tablet", unit="C", by=people["mads"])
    device.set_up_at, device.last_seen_at = now - timedelta(days=120), now - timedelta(hours=2)
    device.save()
    for number, (name, code) in enumerate(SHORT_CODES.items()):
        short_code_set(person=people[name], code=code)
        saved_at = now - timedelta(hours=2 + 20 * number)
        PersonAtDevice.objects.create(device=device, person=people[name], saved_at=saved_at)
