"""Photographs: taken in, shown to those who may see their firing, taken away."""

from django.contrib import messages
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firings.actions.photographs import photograph_remove as remove_photograph
from firings.actions.photographs import photographs_add
from firings.actions.spots import shelf_photographed
from firings.forms.photographs import PhotographForm
from firings.models import Firing
from firings.queries.record import moment_to_photograph
from firings.views.answers import back_to_firing, is_from_live_page
from firings.views.fetch import firing_to_load, photograph_to, photograph_to_look_at
from firings.views.kept import told_to_device
from studio.picture_file import picture_file
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@told_to_device
def photograph_add(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to_load(request.user, pk)
    data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    form = PhotographForm(
        data,
        files,
        firing=firing,
        writer=request.user,
        initial={"moment": moment_to_photograph(firing)},
    )
    if form.is_valid():
        return _add(request, firing, form)
    if files:
        form.ask_for_pictures_again()
    page = {
        "firing": firing,
        "form": form,
        "is_now": is_from_live_page(request),
        "back": request.POST.get("back", ""),
        "section": "logbook",
    }
    return render(request, "firings/photograph_add.html", page)


@once
def _add(request: StudioRequest, firing: Firing, form: PhotographForm) -> HttpResponse:
    """Within the receipt's transaction; the photographs were made ready before it began."""
    facts = dict(form.cleaned_data)
    pictures = facts.pop("photographs")
    added = photographs_add(firing=firing, by=request.user, pictures=pictures, **facts)
    if known := len(pictures) - len(added):
        words = "One of them was here already." if known == 1 else f"{known} were here already."
        messages.warning(request, words)
    if added:
        words = "1 photograph" if len(added) == 1 else f"{len(added)} photographs"
        messages.success(request, f"{words} added.")
    to_mark = shelf_photographed(photographs=added, by=request.user)
    if request.POST.get("back") == "together":
        to_mark = to_mark or next(iter(added), None)
        if to_mark is None:
            return redirect("firings:load_together", firing.pk)
    if to_mark is not None:
        return redirect("firings:photograph_spots", to_mark.pk)
    return back_to_firing(request, firing.pk)


@require_safe
def photograph_file(request: StudioRequest, pk: int, size: str) -> HttpResponseBase:
    """The only address of a photograph. It never changes: browsers keep it for themselves."""
    photograph = photograph_to_look_at(request.user, pk)
    return picture_file({"large": photograph.picture, "small": photograph.small}.get(size))


@require_POST
@once
def photograph_remove(request: StudioRequest, pk: int) -> HttpResponse:
    photograph = photograph_to(request.user, "firing.change", pk)
    firing_pk = photograph.firing_id
    remove_photograph(photograph=photograph)
    messages.success(request, "The photograph is gone.")
    return redirect("firings:firing_detail", firing_pk)
