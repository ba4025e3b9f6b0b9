from django.contrib import messages
from django.contrib.auth import logout
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from studio import access
from studio.actions import shared_devices as actions
from studio.device_middleware import give_token
from studio.forms.shared_devices import SetUpForm
from studio.models import SharedDevice
from studio.queries.shared_devices import all_devices
from studio.receipts import once
from studio.requests import StudioRequest


@require_GET
def device_list(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "device.set_up")
    page = {"section": "people", "devices": all_devices()}
    return render(request, "studio/device_list.html", page)


@require_http_methods(["GET", "POST"])
@once
def device_set_up(request: StudioRequest) -> HttpResponse:
    """Of the very browser that asks: the keeper is signed out of it, and it is given its token."""
    access.require(request.user, "device.set_up")
    unit = request.user.unit
    form = SetUpForm(request.POST or None, initial={"unit": unit})
    if request.method == "POST" and form.is_valid():
        try:
            device, given = actions.device_set_up(**form.cleaned_data, by=request.user)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            logout(request)
            messages.success(request, f"This is the studio device “{device.name}” now.")
            response = redirect("firings:today")
            give_token(response, given)
            return response
    return render(request, "studio/device_set_up.html", {"section": "people", "form": form})


@require_POST
def device_take_away(request: StudioRequest, pk: int) -> HttpResponse:
    device = get_object_or_404(SharedDevice, pk=pk)
    access.require(request.user, "device.take_away", device)
    actions.device_take_away(device=device, by=request.user)
    messages.success(request, f"“{device.name}” is no studio device any more.")
    return redirect("studio:device_list")


@require_http_methods(["GET", "POST"])
def device_here(request: StudioRequest) -> HttpResponse:
    """Of the device itself: what it is for, and the keeper takes it away."""
    device = request.device
    if device is None:
        raise PermissionDenied
    if request.method == "POST":
        access.require(request.user, "device.take_away", device)
        actions.device_take_away(device=device, by=request.user)
        return redirect("firings:today")
    return render(request, "studio/device_here.html", {"device": device})
