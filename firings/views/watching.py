"""A kiln while it fires: what its display ought to show now, and what it does show."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import patch_cache_control, patch_vary_headers
from django.views.decorators.http import condition, require_GET, require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRedirect

from firings.actions.spot_readings import spot_reading_add
from firings.actions.watching import alarm_answer, power_cut_note
from firings.forms.events import EventNowForm
from firings.forms.photographs import PhotographForm
from firings.forms.watching import AlarmAnswerForm, PowerCutForm, ReadingNowForm
from firings.models import Firing, FiringEvent, RunawayAlarm
from firings.queries import watching as queries
from firings.queries.record import moment_to_photograph
from firings.views.answers import put_at_fields
from firings.views.fetch import firing_to, firing_to_load
from firings.views.kept import told_to_device
from studio import access, formats
from studio.models import Unit
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@told_to_device
@once
def firing_now(request: StudioRequest, pk: int) -> HttpResponse:
    """The live page, which takes readings. Polled by it (`HX-Request`), what changes, or 304."""
    access.require(request.user, "firing.see")
    if request.method == "POST":
        return _reading_noted(request, firing_to_load(request.user, pk))
    if request.htmx:
        return _live(_firing_parts(request, pk))
    firing = queries.running_firings().filter(pk=pk).first()
    if firing is None:
        get_object_or_404(Firing, pk=pk)
        return redirect("firings:firing_detail", pk)
    return _firing_page(request, firing, ReadingNowForm(firing=firing, unit=request.user.unit))


def _reading_noted(request: StudioRequest, firing: Firing) -> HttpResponse:
    """In the unit that the page showed; one that comes late is taken after the opening, too."""
    unit = request.POST.get("unit", "")
    form = ReadingNowForm(
        request.POST, firing=firing, unit=unit if unit in Unit.values else request.user.unit
    )
    if form.is_valid():
        try:
            reading = spot_reading_add(firing=firing, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            shown = formats.temperature(reading.temperature_c, request.user.unit)
            messages.success(request, f"Noted: {shown}.")
            return redirect("firings:firing_now", firing.pk)
    running = queries.running_firings().filter(pk=firing.pk).first()
    if running is not None:
        return _firing_page(request, running, form)
    page = {"firing": firing, "form": form, "section": "logbook"}
    return render(request, "firings/spot_reading_add.html", page)


def _firing_page(request: StudioRequest, firing: Firing, form: ReadingNowForm) -> HttpResponse:
    page = {
        "section": "today",
        "form": form,
        "event_form": EventNowForm(instance=FiringEvent(firing=firing)),
        "photograph_form": PhotographForm(
            firing=firing, writer=request.user, initial={"moment": moment_to_photograph(firing)}
        ),
        "version": queries.version_of(request.user, firing.pk),
        "fire": queries.firing_now(firing, timezone.now()),
    }
    return _live(render(request, "firings/firing_now.html", page))


def _firing_version(request: StudioRequest, pk: int) -> str:
    return f'W/"{queries.version_of(request.user, pk)}"'


@condition(etag_func=_firing_version)
def _firing_parts(request: StudioRequest, pk: int) -> HttpResponse:
    firing = queries.running_firings().filter(pk=pk).first()
    if firing is None:
        get_object_or_404(Firing, pk=pk)
        return HttpResponseClientRedirect(reverse("firings:firing_detail", args=[pk]))
    page = {"fire": queries.firing_now(firing, timezone.now()), "is_update": True}
    return render(request, "firings/_firing_now.html", page)


@require_http_methods(["GET", "POST"])
@once
def power_cut(request: StudioRequest, pk: int) -> HttpResponse:
    """After a power cut: what the glass bears now, and what is left to key."""
    firing_to(request.user, "firing.change", pk)
    firing = queries.running_firings().filter(pk=pk).first()
    if firing is None:
        return redirect("firings:firing_detail", pk)
    form = PowerCutForm(request.POST or None, firing=firing, unit=request.user.unit)
    if form.is_valid():
        try:
            power_cut_note(firing=firing, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            return redirect("firings:power_cut", pk)
    back = queries.power_back(firing, queries.readings_so_far(firing))
    page = {"section": "today", "firing": firing, "form": form, "back": back}
    return render(request, "firings/power_cut.html", page)


@require_GET
def kilns_now(request: StudioRequest) -> HttpResponse:
    """All kilns that fire. Polled by it (`HX-Request`), their cards, or 304."""
    access.require(request.user, "firing.see")
    return _live(_kiln_parts(request) if request.htmx else _kilns_page(request))


def _kilns_version(request: StudioRequest) -> str:
    return f'W/"{queries.version_of(request.user)}"'


@condition(etag_func=_kilns_version)
def _kiln_parts(request: StudioRequest) -> HttpResponse:
    page = {"fires": queries.firings_now(timezone.now()), "is_update": True}
    return render(request, "firings/_kilns_now.html", page)


def _kilns_page(request: StudioRequest) -> HttpResponse:
    page = {
        "section": "today",
        "version": queries.version_of(request.user),
        "fires": queries.firings_now(timezone.now()),
    }
    return render(request, "firings/kilns_now.html", page)


def _live(response: HttpResponse) -> HttpResponse:
    """Page and parts share an address; what is kept of them would tell an old time."""
    patch_vary_headers(response, ["HX-Request"])
    patch_cache_control(response, private=True, no_cache=True)
    return response


@require_POST
def runaway_answer(request: StudioRequest, pk: int) -> HttpResponse:
    """Whoever went to the kiln says what they found; anybody of the studio may."""
    alarm = get_object_or_404(RunawayAlarm.objects.select_related("firing"), pk=pk)
    access.require(request.user, "firing.write", alarm.firing)
    form = AlarmAnswerForm(request.POST)
    if form.is_valid():
        alarm_answer(alarm=alarm, by=request.user, answer=form.cleaned_data["answer"])
        messages.success(request, f"Answered: {alarm.firing}.")
    else:
        messages.warning(request, "Say whether it is switched off, or the reading was wrong.")
    return redirect("firings:firing_now", alarm.firing_id)
