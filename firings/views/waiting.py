"""The list of pieces that wait for a kiln, and loads made of them."""

from collections.abc import Sequence

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from firings.actions import waiting as actions
from firings.forms.waiting import PutInForm, TogetherForm, WaitingForm
from firings.models import WaitingPiece
from firings.queries import waiting as queries
from firings.queries.piece_now import PieceOnRecord, piece_on_record
from firings.queries.steps import step_to_fire
from firings.views.answers import put_at_fields, told_at_firing
from firings.views.fetch import firing_to_load, number_in, piece_to_see
from studio import access
from studio.receipts import once
from studio.requests import StudioRequest

LOADS_A_PAGE = 12


def _fetch(request: StudioRequest, pk: int) -> WaitingPiece:
    waiting = get_object_or_404(
        WaitingPiece.objects.select_related("piece__maker", "glass__family"), pk=pk
    )
    access.require(request.user, "firing.change", waiting)
    return waiting


@require_GET
def waiting_list(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "firing.write")
    loads = Paginator(queries.loads_waiting(), LOADS_A_PAGE).get_page(request.GET.get("page"))
    page = {"page": loads, "section": "logbook"}
    return render(request, "firings/waiting_list.html", page)


@require_http_methods(["GET", "POST"])
@once
def waiting_add(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "firing.write")
    record, known = _asked_piece(request)
    form = WaitingForm(request.POST or None, writer=request.user, initial=known)
    if request.method == "POST" and form.is_valid():
        try:
            waiting = actions.piece_wait(**form.facts())
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, f"“{waiting.piece}” waits for a kiln.")
            return redirect("firings:waiting_list")
    page = {"form": form, "record": record, "section": "logbook"}
    return render(request, "firings/waiting_add.html", page)


def _asked_piece(request: StudioRequest) -> tuple[PieceOnRecord | None, dict[str, object]]:
    """The piece named by ?piece=, and what the form starts with: as it is, for its next step."""
    pk = number_in(request.GET.get("piece"))
    if pk is None:
        return None, {}
    piece = piece_to_see(request.user, pk)
    record, step = piece_on_record(piece, request.user), step_to_fire(piece)
    known = {"piece": pk} | record.facts
    if step is not None:
        known |= {"process": step.kind, "wanted": step.wanted, "wanted_by": step.wanted_by}
    return record, known


@require_http_methods(["GET", "POST"])
@once
def waiting_change(request: StudioRequest, pk: int) -> HttpResponse:
    waiting = _fetch(request, pk)
    form = WaitingForm(request.POST or None, instance=waiting, writer=request.user)
    if request.method == "POST" and form.is_valid():
        changes = {name: form.cleaned_data[name] for name in form.changed_data}
        try:
            actions.waiting_change(waiting=waiting, **changes)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "Saved.")
            return redirect("firings:waiting_list")
    page = {"form": form, "waiting": waiting, "section": "logbook"}
    return render(request, "firings/waiting_change.html", page)


@require_POST
def waiting_withdraw(request: StudioRequest, pk: int) -> HttpResponse:
    waiting = _fetch(request, pk)
    try:
        actions.waiting_withdraw(waiting=waiting)
    except ValidationError as error:
        messages.warning(request, " ".join(error.messages))
    else:
        messages.success(request, f"“{waiting.piece}” waits no longer.")
    return redirect("firings:waiting_list")


@require_http_methods(["GET", "POST"])
@once
def waiting_load(request: StudioRequest) -> HttpResponse:
    """A planned firing out of pieces that wait; the address names those that were shown."""
    access.require(request.user, "waiting.load")
    numbers = [number for each in request.GET.getlist("piece") if (number := number_in(each))]
    shown = list(queries.pieces_waiting().filter(pk__in=numbers))
    asked = {"kiln": number_in(request.GET.get("kiln"))}
    form = TogetherForm(request.POST or None, waiting=shown, writer=request.user, initial=asked)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            firing = actions.waiting_load(
                waiting=[each.pk for each in given["pieces"]],
                kiln=given["kiln"],
                revision=given["revision"],
                planned_start=given["planned_start"],
                by=request.user,
            )
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "Planned, with its pieces in the load.")
            return redirect("firings:firing_detail", firing.pk)
    page = {"form": form, "shown": shown, "section": "logbook"}
    return render(request, "firings/waiting_load.html", page)


@require_POST
@once
def waiting_put_in(request: StudioRequest, pk: int) -> HttpResponse:
    """Into the load of a planned firing, all that are ticked at once."""
    firing = firing_to_load(request.user, pk)
    form = PutInForm(request.POST, writer=request.user)
    if not form.is_valid():
        messages.error(request, " ".join(map(str, form.errors["waiting"])))
        return redirect("firings:load_edit", pk)
    try:
        put_in, gone = actions.waiting_put_in(
            firing=firing, waiting=form.numbers(), by=request.user
        )
    except ValidationError as error:
        return told_at_firing(request, pk, error)
    if put_in:
        messages.success(request, f"{_named(put_in)} in the load.")
    if gone:
        messages.warning(request, f"{_named(gone)} waiting no more; not put in.")
    return redirect("firings:load_edit", pk)


def _named(waiting: Sequence[WaitingPiece]) -> str:
    names = [f"“{each.piece}”" for each in waiting]
    if len(names) == 1:
        return f"{names[0]} is"
    return f"{', '.join(names[:-1])} and {names[-1]} are"
