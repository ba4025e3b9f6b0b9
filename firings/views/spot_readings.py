"""Readings that are noted by hand at the kiln, and taken back."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from firings.actions import spot_readings
from firings.actions.record import StateError
from firings.forms.spot_readings import SpotReadingForm
from firings.views.answers import put_at_fields, told_at_firing
from firings.views.fetch import firing_to_load, spot_reading_to_remove
from studio import formats
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@once
def spot_reading_add(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to_load(request.user, pk)
    if firing.started_at is None:
        return told_at_firing(request, pk, StateError(firing))
    form = SpotReadingForm(request.POST or None, firing=firing, unit=request.user.unit)
    if form.is_valid():
        try:
            reading = spot_readings.spot_reading_add(
                firing=firing, by=request.user, **form.cleaned_data
            )
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            shown = formats.temperature(reading.temperature_c, request.user.unit)
            messages.success(request, f"Noted: {shown}.")
            another = "another" in request.POST
            return redirect(f"firings:{'spot_reading_add' if another else 'firing_detail'}", pk)
    noted = firing.spot_readings.all()
    page = {"firing": firing, "form": form, "noted": noted, "section": "logbook"}
    return render(request, "firings/spot_reading_add.html", page)


@require_POST
@once
def spot_reading_remove(request: StudioRequest, pk: int) -> HttpResponse:
    reading = spot_reading_to_remove(request.user, pk)
    reading.delete()
    messages.success(request, "The reading is taken back.")
    return redirect("firings:firing_detail", reading.firing_id)
