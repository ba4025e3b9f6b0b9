from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from studio import access
from studio.actions.service import intervals_write
from studio.forms.service import ServiceEntryForm, ServiceIntervalsForm
from studio.models import ServiceEntry, ServiceKind
from studio.receipts import once
from studio.requests import StudioRequest
from studio.views.kilns import fetch_kiln

ENTRIES_A_PAGE = 50


def fetch_entry(request: StudioRequest, pk: int) -> ServiceEntry:
    entry = get_object_or_404(ServiceEntry.objects.select_related("kiln"), pk=pk)
    access.require(request.user, "kiln.note_service", entry.kiln)
    return entry


@require_GET
def service_diary(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = fetch_kiln(request, pk)
    entries = kiln.service_entries.select_related("written_by")
    page = Paginator(entries, ENTRIES_A_PAGE).get_page(request.GET.get("page"))
    context = {"section": "kilns", "kiln": kiln, "page": page}
    return render(request, "studio/service_diary.html", context)


@require_http_methods(["GET", "POST"])
@once
def service_entry_add(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = fetch_kiln(request, pk, "kiln.note_service")
    entry = ServiceEntry(kiln=kiln, written_by=request.user)
    form = ServiceEntryForm(request.POST or None, instance=entry)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "The service diary has a new line.")
        if form.instance.kind == ServiceKind.THERMOCOUPLE and kiln.offset_void_since:
            messages.warning(request, "Its offset is unproven from that day on. Measure it again.")
        return redirect("studio:kiln_detail", pk)
    context = {"section": "kilns", "kiln": kiln, "form": form}
    return render(request, "studio/service_entry_add.html", context)


@require_http_methods(["GET", "POST"])
def service_entry_change(request: StudioRequest, pk: int) -> HttpResponse:
    entry = fetch_entry(request, pk)
    form = ServiceEntryForm(request.POST or None, instance=entry)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "The line is saved.")
        return redirect("studio:service_diary", entry.kiln_id)
    context = {"section": "kilns", "kiln": entry.kiln, "entry": entry, "form": form}
    return render(request, "studio/service_entry_change.html", context)


@require_POST
def service_entry_remove(request: StudioRequest, pk: int) -> HttpResponse:
    entry = fetch_entry(request, pk)
    entry.delete()
    messages.success(request, f"The line “{entry}” is removed.")
    return redirect("studio:service_diary", entry.kiln_id)


@require_http_methods(["GET", "POST"])
def service_intervals(request: StudioRequest, pk: int) -> HttpResponse:
    """After how many firings or hours this kiln wants each service again."""
    kiln = fetch_kiln(request, pk, "kiln.change")
    form = ServiceIntervalsForm(request.POST or None, kiln=kiln)
    if request.method == "POST" and form.is_valid():
        intervals_write(kiln=kiln, intervals=form.intervals())
        messages.success(request, "Saved. What is due stands on the kiln’s history and on Today.")
        return redirect("studio:service_diary", pk)
    context = {"section": "kilns", "kiln": kiln, "form": form}
    return render(request, "studio/service_intervals.html", context)
