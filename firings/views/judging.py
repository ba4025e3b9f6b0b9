"""How a piece came out: its verdict, and the faults beside it."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from firings.actions import judging
from firings.actions.photographs import photographs_add
from firings.forms.judging import FaultForm, VerdictForm
from firings.models import LoadedPiece
from firings.queries.crops import crops_of
from firings.views.answers import put_at_fields
from firings.views.fetch import fault_to_remove, loaded_piece_to_judge
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
def piece_judge(request: StudioRequest, pk: int) -> HttpResponse:
    loaded = loaded_piece_to_judge(request.user, pk)
    data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    form = VerdictForm(data, files, instance=LoadedPiece.objects.get(pk=pk))
    fault_form = FaultForm(data, loaded=loaded, prefix="fault", optional=True)
    if form.is_valid() and fault_form.is_valid():
        return _judge(request, loaded, form, fault_form)
    return _judging_page(request, loaded, form, fault_form)


@once
def _judge(
    request: StudioRequest, loaded: LoadedPiece, form: VerdictForm, fault_form: FaultForm
) -> HttpResponse:
    """Within the receipt's transaction; the photographs were made ready before it began."""
    pictures, by = form.cleaned_data["photographs"], request.user
    try:
        with transaction.atomic():
            judging.piece_judge(loaded=loaded, by=by, **form.facts())
            if fault_form.says_something:
                judging.fault_add(loaded=loaded, by=by, **fault_form.cleaned_data)
            photographs_add(firing=loaded.firing, by=by, pictures=pictures, loaded_piece=loaded)
    except ValidationError as error:
        put_at_fields(form, error)
        return _judging_page(request, loaded, form, fault_form)
    messages.success(request, f"What you saw on “{loaded.piece}” is kept.")
    return redirect("firings:firing_detail", loaded.firing_id)


def _judging_page(
    request: StudioRequest, loaded: LoadedPiece, form: VerdictForm, fault_form: FaultForm
) -> HttpResponse:
    form.ask_for_pictures_again()
    page = {
        "loaded": loaded,
        "form": form,
        "fault_form": fault_form,
        "shown": crops_of(loaded),
        "section": "logbook",
    }
    return render(request, "firings/piece_judge.html", page)


@require_http_methods(["GET", "POST"])
@once
def fault_add(request: StudioRequest, pk: int) -> HttpResponse:
    """A fault that was seen later, by itself."""
    loaded = loaded_piece_to_judge(request.user, pk)
    form = FaultForm(request.POST or None, loaded=loaded)
    if form.is_valid():
        try:
            fault = judging.fault_add(loaded=loaded, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, f"Noted: {fault}.")
            return redirect("firings:firing_detail", loaded.firing_id)
    page = {"loaded": loaded, "form": form, "section": "logbook"}
    return render(request, "firings/fault_add.html", page)


@require_POST
@once
def fault_remove(request: StudioRequest, pk: int) -> HttpResponse:
    fault = fault_to_remove(request.user, pk)
    words = str(fault)
    fault.delete()
    messages.success(request, f"Taken back: {words}.")
    return redirect("firings:firing_detail", fault.loaded_piece.firing_id)
