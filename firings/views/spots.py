"""Pieces marked on a photograph of their shelf, and the crop of each."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from firings.actions.spots import spot_put, spots_confirm
from firings.forms.tapping import SpotForm
from firings.models import Photograph
from firings.queries import spots as queries
from firings.views.answers import put_at_fields
from firings.views.fetch import photograph_to_mark, spot_to_look_at, spot_to_remove
from studio.picture_file import picture_file
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@once
def photograph_spots(request: StudioRequest, pk: int) -> HttpResponse:
    photograph = photograph_to_mark(request.user, pk)
    marked = queries.marked_photograph(photograph, request.user)
    pieces = queries.pieces_to_mark(photograph, request.user)
    data = request.POST if request.method == "POST" else None
    form = SpotForm(data, pieces=pieces, ratio=marked.ratio)
    form.keep_unmarked_first([spot.row for spot in marked.spots])
    if form.is_valid():
        loaded = form.cleaned_data["loaded_piece"]
        try:
            spot_put(photograph=photograph, loaded=loaded, by=request.user, **form.facts())
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, f"“{loaded.piece}” is marked.")
            return redirect(f"{reverse('firings:photograph_spots', args=[pk])}#mark")
    page = {
        "firing": photograph.firing,
        "photograph": photograph,
        "marked": marked,
        "form": form,
        "asked": marked.drawn(form.tapped if form.is_bound else None),
        "section": "logbook",
    }
    return render(request, "firings/photograph_spots.html", page)


@require_POST
def spots_fit(request: StudioRequest, pk: int) -> HttpResponse:
    """What was taken over from an earlier photograph fits this one."""
    photograph: Photograph = photograph_to_mark(request.user, pk)
    spots_confirm(photograph=photograph, by=request.user)
    messages.success(request, "They fit.")
    return redirect("firings:photograph_spots", pk)


@require_POST
@once
def spot_remove(request: StudioRequest, pk: int) -> HttpResponse:
    spot = spot_to_remove(request.user, pk)
    photograph, title = spot.photograph_id, spot.loaded_piece.piece.title
    spot.delete()
    messages.success(request, f"“{title}” is no longer marked.")
    return redirect("firings:photograph_spots", photograph)


@require_safe
def spot_crop(request: StudioRequest, pk: int, cut: str) -> HttpResponseBase:
    """The only address of a crop, which never changes: a spot that is moved has another one."""
    spot = spot_to_look_at(request.user, pk)
    return picture_file(spot.crop if spot.cut == cut else None)
