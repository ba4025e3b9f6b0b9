"""Planning a firing, and taking it through its states."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from firings.actions import judging, photographs, record, uncleared
from firings.actions.booking import KilnTakenError
from firings.actions.spots import shelf_photographed
from firings.actions.telling import makers_tell
from firings.forms.judging import ShortVerdictForm
from firings.forms.record import CallOffForm, OpenForm, PlanForm, ReadyByForm, RecordForm, StartForm
from firings.models import Firing, FiringState, LoadedPiece
from firings.queries.plan import Outlook, outlook_of
from firings.queries.spots import shelf_photographs, waits_for_its_maker
from firings.queries.start import start_checks_of, start_now
from firings.views.answers import put_at_fields, told_at_firing
from firings.views.fetch import firing_to, number_in
from schedules.queries.controller_memory import memory_of_revision
from studio import access
from studio.receipts import once
from studio.requests import StudioRequest

Verdicts = list[tuple[LoadedPiece, ShortVerdictForm]]


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
@once
def firing_plan(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "firing.write")
    named = [pk for pk in [number_in(request.GET.get("revision"))] if pk]
    data = request.POST if request.method == "POST" else None
    form = PlanForm(data, writer=request.user, also=named, initial=request.GET.dict())
    if request.method == "GET":
        asked = PlanForm(request.GET, writer=request.user, also=named)
        page = {"form": form, "outlook": _outlook(asked), "section": "logbook"}
        part = "_outlook" if request.htmx else "firing_plan"
        return render(request, f"firings/{part}.html", page)
    if "look" not in request.POST and form.is_valid():
        try:
            firing = record.firing_plan(written_by=request.user, **form.facts())
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "Planned. Add what goes into the kiln.")
            if (piece := number_in(request.GET.get("piece"))) is not None:
                return redirect(f"{reverse('firings:piece_add', args=[firing.pk])}?piece={piece}")
            return redirect("firings:firing_detail", firing.pk)
    page = {"form": form, "outlook": _outlook(form), "section": "logbook"}
    return render(request, "firings/firing_plan.html", page)


def _outlook(form: PlanForm) -> Outlook | None:
    chosen = form.chosen()
    if chosen is None:
        return None
    revision, kiln, starts_at, ready_by = chosen
    return outlook_of(revision, kiln, form.writer.unit, starts_at, ready_by)


@require_http_methods(["GET", "POST"])
def firing_edit(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to(request.user, "firing.change", pk)
    if firing.state == FiringState.CALLED_OFF:
        return told_at_firing(request, pk, record.StateError(firing))
    form, clash = _form_of_facts(request, firing), None
    if form.is_valid():
        try:
            record.firing_change(firing=firing, changes=form.changes())
        except record.StateError as error:
            return told_at_firing(request, pk, error)
        except KilnTakenError as error:
            put_at_fields(form, error)
            clash = error.clash
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "Saved.")
            return redirect("firings:firing_detail", pk)
    page = {"form": form, "firing": firing, "clash": clash, "section": "logbook"}
    return render(request, "firings/firing_edit.html", page)


def _form_of_facts(request: StudioRequest, firing: Firing) -> PlanForm | RecordForm:
    data = request.POST or None
    # A copy, so that a refused form leaves what the page says of the firing as it is on record.
    copy = Firing.objects.select_related("revision").get(pk=firing.pk)
    if firing.state == FiringState.PLANNED:
        return PlanForm(data, instance=copy, writer=request.user, also=[firing.revision_id])
    return RecordForm(data, instance=copy, writer=request.user, unit=request.user.unit)


@require_http_methods(["GET", "POST"])
@once
def firing_start(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to(request.user, "firing.change", pk)
    if request.method == "GET" and firing.state != FiringState.PLANNED:
        return told_at_firing(request, pk, record.StateError(firing))
    if (refused := uncleared.refusal(firing)) is not None:
        return told_at_firing(request, pk, refused)
    form = StartForm(
        request.POST if request.method == "POST" else None,
        unit=request.user.unit,
        initial={"started_at": timezone.now()},
    )
    if form.is_valid():
        try:
            record.firing_start(firing=firing, looked_by=request.user, **form.facts())
        except record.StateError as error:
            return told_at_firing(request, pk, error)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "Started.")
            if left := start_checks_of(firing).left:
                messages.warning(
                    request, f"Not ticked before the start: {'; '.join(row.text for row in left)}."
                )
            return redirect("firings:firing_detail", pk)
    ready = ReadyByForm(request.GET)
    page = {
        "form": form,
        "firing": firing,
        "ready": ready,
        "now": start_now(firing, ready.cleaned_data["ready_by"] if ready.is_valid() else None),
        "memory": memory_of_revision(firing.revision, firing.kiln),
        "section": "logbook",
    }
    return render(request, "firings/firing_start.html", page)


@require_http_methods(["GET", "POST"])
@once
def firing_call_off(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to(request.user, "firing.change", pk)
    if request.method == "GET" and firing.state != FiringState.PLANNED:
        return told_at_firing(request, pk, record.StateError(firing))
    form = CallOffForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            record.firing_call_off(firing=firing, by=request.user, **form.cleaned_data)
        except record.StateError as error:
            return told_at_firing(request, pk, error)
        messages.success(request, "Called off.")
        return redirect("firings:firing_detail", pk)
    page = {"form": form, "firing": firing, "section": "logbook"}
    return render(request, "firings/firing_call_off.html", page)


@require_http_methods(["GET", "POST"])
def firing_open(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to(request.user, "firing.open", pk)
    if request.method == "GET" and firing.state != FiringState.FIRING:
        return told_at_firing(request, pk, record.StateError(firing))
    data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    form = OpenForm(
        data,
        files,
        firing=firing,
        writer=request.user,
        unit=request.user.unit,
        initial={"opened_at": timezone.now()},
    )
    verdicts: Verdicts = [
        (loaded, ShortVerdictForm(data, prefix=f"piece{loaded.pk}", instance=loaded))
        for loaded in firing.load.select_related("piece__maker", "firing", "place")
        # On a studio device the page doesn't know yet who judges: each piece is judged on its own.
        if request.device is None and access.may(request.user, "piece.judge", loaded)
    ]
    if form.is_valid() and all([each.is_valid() for _, each in verdicts]):  # noqa: C419 - each one
        return _open(request, firing, form, verdicts)
    return _opening_page(request, firing, form, verdicts)


@once
def _open(
    request: StudioRequest, firing: Firing, form: OpenForm, verdicts: Verdicts
) -> HttpResponse:
    """Within the receipt's transaction; the photographs were made ready before it began."""
    facts: dict[str, Any] = dict(form.cleaned_data)
    pictures = facts.pop("photographs")
    try:
        with transaction.atomic():
            opened = record.firing_open(firing=firing, **facts)
            for loaded, verdict in verdicts:
                judging.piece_judge(loaded=loaded, by=request.user, **verdict.facts())
            added = photographs.photographs_add(firing=firing, by=request.user, pictures=pictures)
            to_mark = shelf_photographed(photographs=added, by=request.user)
            makers_tell(firing=opened)
    except record.StateError as error:
        return told_at_firing(request, firing.pk, error)
    except ValidationError as error:
        put_at_fields(form, error)
        return _opening_page(request, firing, form, verdicts)
    messages.success(request, "Opened.")
    if added and waits_for_its_maker(firing, request.user):
        return redirect("firings:photograph_spots", (to_mark or added[0]).pk)
    return redirect("firings:firing_detail", firing.pk)


def _opening_page(
    request: StudioRequest, firing: Firing, form: OpenForm, verdicts: Verdicts
) -> HttpResponse:
    form.ask_for_pictures_again()
    page = {
        "firing": firing,
        "form": form,
        "verdicts": verdicts,
        "loaded_shelf": shelf_photographs(firing, request.user).last(),
        "is_shared": waits_for_its_maker(firing, request.user),
        "section": "logbook",
    }
    return render(request, "firings/firing_open.html", page)
