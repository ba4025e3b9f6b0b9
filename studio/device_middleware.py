"""What makes a browser a studio device: no session counts there, and each save asks who.

It stands after all that it rests on: by the time at which `process_view` is asked, the form's token
against forgery was looked at. A form that comes without a name and a code is answered by a page
that asks for both and carries what was typed; nothing of it is held on the server. With them it is
taken as that person's, for this one request.
"""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.messages.storage.cookie import CookieStorage
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateformat import format as written
from django.utils.decorators import method_decorator
from django.views.decorators.debug import sensitive_variables
from django_htmx.http import HttpResponseClientRedirect, reswap, retarget

from studio.actions.shared_devices import device_of, device_seen
from studio.actions.short_codes import WaitError, who_saves
from studio.at_device import is_open, only_looks
from studio.forms.shared_devices import WhoForm
from studio.models import SharedDevice
from studio.queries.shared_devices import people_of_device

COOKIE, SALT = "studio_device", "studio.device"
KEPT_FOR = timedelta(days=400)  # the longest that browsers keep a cookie; it is renewed in use
WHO, CODE = "device_who", "device_code"
NOT_HELD = (WHO, CODE, "csrfmiddlewaretoken")


def give_token(response: HttpResponse, given: str) -> None:
    response.set_signed_cookie(
        COOKIE,
        given,
        salt=SALT,
        max_age=KEPT_FOR,
        httponly=True,
        secure=settings.HTTPS,
        samesite="Lax",
    )


class DeviceMessages(CookieStorage):
    """What is told on the next page: never in a session, of which a device has none."""

    @property
    def says_why_not(self) -> bool:
        """A view that did nothing leads back with a warning and no word of success."""
        levels = {message.level for message in self._queued_messages}  # type: ignore[attr-defined]
        return bool(levels) and messages.SUCCESS not in levels and max(levels) >= messages.WARNING


class SharedDeviceMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    @method_decorator(sensitive_variables("given"))
    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.device = None  # type: ignore[attr-defined]
        given = request.get_signed_cookie(COOKIE, default=None, salt=SALT)
        device = None if given is None else device_of(given)
        if given is None or device is None:
            return self.get_response(request)
        if device.taken_away_at is not None:
            return _taken_away(request, device)
        reader = device.reader
        request.device, request.user = device, reader  # type: ignore[attr-defined]
        request._messages = DeviceMessages(request)  # type: ignore[attr-defined]
        response = self.get_response(request)
        if request.user is not reader:
            saved_by, request.user = request.user, reader
            response = _after(request, saved_by.name, response)
        elif response.status_code == 403 and request.method == "GET":
            response = _not_here(request)
        response["Cache-Control"] = "no-store, private"
        if device_seen(device=device):
            give_token(response, given)
        return response

    def process_view(
        self, request: HttpRequest, view: Any, args: Any, kwargs: Any
    ) -> HttpResponse | None:
        device: SharedDevice | None = request.device  # type: ignore[attr-defined]
        if device is None:
            return None
        match = request.resolver_match
        if match is None or not is_open(match.view_name, request.method):
            return _not_here(request)
        if request.method != "POST":
            return None
        request.sensitive_post_parameters = (CODE,)  # type: ignore[attr-defined]
        number, code = request.POST.get(WHO, ""), request.POST.get(CODE, "").strip()
        if not (number and code):
            is_look = only_looks(match.view_name, request.POST)
            return None if is_look else _who_page(request)
        try:
            person = who_saves(device=device, number=number, code=code)
        except ValidationError as error:
            status = 429 if isinstance(error, WaitError) else 200
            return _who_page(request, told=error.messages[0], status=status)
        # What was typed was typed into a page in the device's unit; nothing saves this row.
        person.unit, person.at_device = device.unit, device.reader
        request.user = person
        return None


def _after(request: HttpRequest, name: str, response: HttpResponse) -> HttpResponse:
    """They are forgotten already: this only says what was done as whom, or that they may not."""
    if response.status_code == 403:
        told = f"{name} may not do that here. Whoever may can save it: nothing is lost."
        return _who_page(request, told=told, status=403)
    led_on = response.status_code == 302 or response.has_header("HX-Redirect")
    if led_on and not request._messages.says_why_not:  # type: ignore[attr-defined]
        messages.success(request, f"Saved as {name}.")
    return response


def _who_page(request: HttpRequest, *, told: str = "", status: int = 200) -> HttpResponse:
    """Asks who saves; what was typed goes with it. Files can't: they are chosen again."""
    people = list(people_of_device(request.device))  # type: ignore[attr-defined]
    page = {
        "device_who": WhoForm(people=people, initial={WHO: request.POST.get(WHO)}),
        "told": told,
        "held": [
            (name, value)
            for name, values in request.POST.lists()
            if name not in NOT_HELD
            for value in values
        ],
        "files": [
            (name, [file.name for file in files]) for name, files in request.FILES.lists() if files
        ],
        "can_leave_to": request.path
        if is_open(request.resolver_match.view_name, "GET")  # type: ignore[union-attr]
        else "",
    }
    response = render(request, "studio/who_is_this.html", page, status=status)
    if getattr(request, "htmx", False):  # the page itself, not a part of the one that stands
        response.status_code = 200
        return reswap(retarget(response, "body"), "innerHTML")
    return response


def _not_here(request: HttpRequest) -> HttpResponse:
    return render(request, "studio/not_at_device.html", status=403)


def _taken_away(request: HttpRequest, device: SharedDevice) -> HttpResponse:
    """Told once, on the page to sign in; from then on it is a browser as any other."""
    at = timezone.localtime(device.taken_away_at)
    messages.warning(
        request,
        f"This is no studio device any more: {device.taken_away_by} took “{device.name}” away on "
        f"{written(at, 'j F Y, H:i')}.",
    )
    to = reverse("studio:sign_in")
    is_part = getattr(request, "htmx", False)  # or the page to sign in stood in a part of this one
    response = HttpResponseClientRedirect(to) if is_part else redirect(to)
    response.delete_cookie(COOKIE, samesite="Lax")
    return response
