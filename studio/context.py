from typing import Any
from uuid import uuid4

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from studio.forms.shared_devices import WhoForm
from studio.queries.shared_devices import people_of_device


def studio(request: HttpRequest) -> dict[str, Any]:
    """What every page needs: the studio and a fresh key for its forms."""
    return {"studio": getattr(request, "studio", None), "form_key": uuid4()}


def device_who(request: HttpRequest) -> dict[str, Any]:
    """On a studio device, what a form with files asks of whoever saves it (`parts/who.html`)."""
    device = getattr(request, "device", None)
    if device is None:
        return {}
    who = SimpleLazyObject(lambda: WhoForm(people=list(people_of_device(device))))
    return {"device_who": who}
