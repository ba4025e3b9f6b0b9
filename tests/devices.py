"""Studio devices and short codes for tests."""

from typing import Any

from django.http import HttpResponse

from studio.actions.shared_devices import device_set_up
from studio.actions.short_codes import short_code_set
from studio.device_middleware import COOKIE, give_token
from studio.models import Person, SharedDevice
from tests.reading_client import ReadingClient

CODES = {"inka": "5839", "mads": "60417", "oona": "2947", "ravi": "8316", "wilf": "7150"}


def make_device(keeper: Person, **overrides: Any) -> tuple[SharedDevice, str]:
    """A device, and what stands in its browser's cookie."""
    device, given = device_set_up(**{"name": "mill tablet", "unit": "C", "by": keeper} | overrides)
    response = HttpResponse()
    give_token(response, given)
    return device, response.cookies[COOKIE].value


def device_browser(cookie: str, **kind: Any) -> ReadingClient:
    client = ReadingClient(**kind)
    client.cookies[COOKIE] = cookie
    return client


def with_code(*people: Person) -> None:
    for person in people:
        short_code_set(person=person, code=CODES[person.sign_in_name])


def as_saver(person: Person, **fields: Any) -> dict[str, Any]:
    """What a form sends with which this person says who they are."""
    return fields | {"device_who": person.pk, "device_code": CODES[person.sign_in_name]}
