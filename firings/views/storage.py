"""Finished pieces on the storage shelves: put there, kept for a time, collected."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from firings.actions import storage
from firings.forms.storage import StayEndForm, StoreForm
from firings.models import StoredPiece
from firings.queries.storage import stays
from firings.views.answers import put_at_fields
from firings.views.fetch import piece_to_see
from studio import access
from studio.requests import StudioRequest


@require_GET
def storage_list(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "piece.see")
    page = {"stays": stays(request.user), "section": "logbook"}
    return render(request, "firings/storage_list.html", page)


@require_http_methods(["GET", "POST"])
def piece_store(request: StudioRequest, pk: int) -> HttpResponse:
    piece = piece_to_see(request.user, pk)
    access.require(request.user, "piece.store", piece)
    standing = StoredPiece.objects.filter(piece=piece, ended_at=None).first()
    form = StoreForm(request.POST or None, instance=standing)
    if form.is_valid():
        try:
            storage.piece_store(piece=piece, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, f"“{piece}” lies at {form.cleaned_data['place']}.")
            return redirect("firings:storage_list")
    page = {"piece": piece, "form": form, "standing": standing, "section": "logbook"}
    return render(request, "firings/piece_store.html", page)


@require_http_methods(["GET", "POST"])
def stay_end(request: StudioRequest, pk: int) -> HttpResponse:
    stay = get_object_or_404(StoredPiece.objects.select_related("piece__maker"), pk=pk)
    piece = piece_to_see(request.user, stay.piece_id)
    access.require(request.user, "piece.store", piece)
    form = StayEndForm(request.POST or None, piece=piece, writer=request.user)
    if form.is_valid():
        try:
            storage.stay_end(stay=stay, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, f"“{piece}” left the shelf.")
            return redirect("firings:storage_list")
    page = {"stay": stay, "piece": piece, "form": form, "section": "logbook"}
    return render(request, "firings/stay_end.html", page)
