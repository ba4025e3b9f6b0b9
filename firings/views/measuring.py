"""What was measured in a kiln: its page, and the forms by which it is written down."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from firings.actions import measuring as actions
from firings.forms.measuring import MeasurementForm
from firings.measured_charts import evenness_drawing, series_drawing
from firings.measured_export import measured_lines
from firings.models import KilnMeasurement, Means
from firings.queries.measured import measured_kiln
from firings.views.answers import put_at_fields
from studio import access
from studio.csv_export import attached
from studio.models import Kiln
from studio.receipts import once
from studio.requests import StudioRequest


def _fetch_kiln(request: StudioRequest, pk: int, act: str = "kiln.see") -> Kiln:
    kiln = get_object_or_404(Kiln.objects.prefetch_related("service_entries"), pk=pk)
    access.require(request.user, act, kiln)
    return kiln


def _fetch(request: StudioRequest, pk: int) -> KilnMeasurement:
    measurement = get_object_or_404(KilnMeasurement.objects.select_related("kiln"), pk=pk)
    access.require(request.user, "kiln.measure", measurement)
    return measurement


@require_GET
def kiln_measured(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = _fetch_kiln(request, pk)
    shown = measured_kiln(kiln, request.user)
    context = {
        "section": "kilns",
        "kiln": kiln,
        "shown": shown,
        "shelf": evenness_drawing(shown, request.user.unit),
        "drawing": series_drawing(shown, request.user.unit),
    }
    return render(request, "firings/kiln_measured.html", context)


@require_GET
def kiln_measured_csv(request: StudioRequest, pk: int) -> StreamingHttpResponse:
    kiln = _fetch_kiln(request, pk)
    lines = measured_lines(measured_kiln(kiln, request.user))
    return attached(lines, f"measured-{kiln.pk}.csv")


@require_http_methods(["GET", "POST"])
@once
def measurement_add(request: StudioRequest, pk: int) -> HttpResponse:
    """By the means that the address names; a second thermometer without a word."""
    access.require(request.user, "kiln.measure")
    kiln = _fetch_kiln(request, pk)
    asked = request.GET.get("means", "")
    means = Means(asked) if asked in Means.values else Means.THERMOMETER
    measurement = KilnMeasurement(kiln=kiln, means=means, measured_by=request.user)
    return _form(request, measurement, "firings/measurement_add.html")


@require_http_methods(["GET", "POST"])
def measurement_change(request: StudioRequest, pk: int) -> HttpResponse:
    return _form(request, _fetch(request, pk), "firings/measurement_change.html")


def _form(request: StudioRequest, measurement: KilnMeasurement, page: str) -> HttpResponse:
    kiln = measurement.kiln
    form = MeasurementForm(
        request.POST or None,
        instance=measurement,
        places=list(kiln.places.all()),
        unit=request.user.unit,
    )
    if request.method == "POST" and form.is_valid():
        try:
            actions.measurement_save(measurement=form.measurement(), readings=form.readings())
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "What was measured is saved.")
            return redirect("firings:kiln_measured", kiln.pk)
    context = {
        "section": "kilns",
        "kiln": kiln,
        "measurement": measurement,
        "form": form,
        "all_means": Means,
    }
    return render(request, page, context)


@require_POST
def measurement_remove(request: StudioRequest, pk: int) -> HttpResponse:
    measurement = _fetch(request, pk)
    measurement.delete()
    messages.success(request, f"Removed: {measurement}.")
    return redirect("firings:kiln_measured", measurement.kiln_id)


@require_POST
def offset_adopt(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = _fetch_kiln(request, pk, "kiln.change")
    try:
        actions.offset_adopt(kiln=kiln, seen=request.POST.get("seen", ""))
    except ValidationError as error:
        messages.warning(request, " ".join(error.messages))
    else:
        messages.success(request, f"{kiln.name} keeps this offset now, with its evidence.")
    return redirect("firings:kiln_measured", pk)
