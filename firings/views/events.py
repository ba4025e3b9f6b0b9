"""What happened on the way, and what was keyed otherwise than written."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from firings.actions.keyed import keyed_set
from firings.forms.events import EventForm, EventNowForm
from firings.forms.keyed import KeyedForm
from firings.models import FiringEvent
from firings.views.answers import back_to_firing, is_from_live_page
from firings.views.fetch import event_to_remove, firing_to
from firings.views.kept import told_to_device
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@told_to_device
@once
def event_add(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to(request.user, "firing.change", pk)
    event = FiringEvent(firing=firing, noted_by=request.user)
    is_now = is_from_live_page(request)
    form = (EventNowForm if is_now else EventForm)(request.POST or None, instance=event)
    if form.is_valid():
        form.save()
        messages.success(request, f"Noted: {event}.")
        return back_to_firing(request, pk)
    page = {"firing": firing, "form": form, "is_now": is_now, "section": "logbook"}
    return render(request, "firings/event_add.html", page)


@require_POST
@once
def event_remove(request: StudioRequest, pk: int) -> HttpResponse:
    event = event_to_remove(request.user, pk)
    event.delete()
    messages.success(request, f"Taken back: {event}.")
    return redirect("firings:firing_detail", event.firing_id)


@require_http_methods(["GET", "POST"])
def keyed_edit(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to(request.user, "firing.change", pk)
    form = KeyedForm(request.POST or None, firing=firing)
    if form.is_valid():
        differences = keyed_set(firing=firing, keyed=form.keyed())
        messages.success(
            request,
            f"{len(differences)} keyed differently." if differences else "Keyed as written.",
        )
        return redirect("firings:firing_detail", pk)
    page = {"firing": firing, "form": form, "section": "logbook"}
    return render(request, "firings/keyed_edit.html", page)
