"""A kiln that several people load together: tickets scanned into its firing, places tapped."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import condition, require_http_methods

from firings.actions.loading import piece_scan
from firings.forms.scanning import ScanForm
from firings.models import Firing, FiringState, LoadedPiece
from firings.queries import loading as queries
from firings.queries.visible import is_kept_from
from firings.views.answers import told_at_firing
from firings.views.fetch import firing_to_load
from studio.requests import StudioRequest

LOADED_TOGETHER = (FiringState.PLANNED, FiringState.FIRING)


@require_http_methods(["GET", "POST"])
def load_together(request: StudioRequest, pk: int) -> HttpResponse:
    """Takes tickets; polled by its page (`HX-Request`), the list of who is in, or 304.

    It needs no receipt: a piece that is scanned twice is told to be in already.
    """
    firing = firing_to_load(request.user, pk)
    if request.method == "POST":
        return _scanned(request, firing)
    if firing.state not in LOADED_TOGETHER:
        return redirect("firings:load_edit", pk)
    if request.htmx:
        return _list(request, firing)
    return _page(request, firing, ScanForm(writer=request.user))


def _scanned(request: StudioRequest, firing: Firing) -> HttpResponse:
    form, loaded = ScanForm(request.POST, writer=request.user), None
    if form.is_valid():
        try:
            loaded = piece_scan(firing=firing, piece=form.cleaned_data["code"], by=request.user)
        except ValidationError as error:
            if error.code == "state" and not request.htmx:
                return told_at_firing(request, firing.pk, error)
            form.add_error("code", error)
    if request.htmx:
        page = _together(request, firing) | {"form": form, "loaded": loaded, "is_update": True}
        return render(request, "firings/_scanned.html", page)
    if loaded is None:
        return _page(request, firing, form)
    messages.success(request, f"“{loaded.piece}” is in.")
    return redirect("firings:load_together", firing.pk)


def _page(request: StudioRequest, firing: Firing, form: ScanForm) -> HttpResponse:
    page = _together(request, firing) | {"form": form, "section": "logbook"}
    return render(request, "firings/load_together.html", page)


def _version(request: StudioRequest, firing: Firing) -> str:
    return f'W/"{queries.load_version(firing, request.user)}"'


@condition(etag_func=_version)
def _list(request: StudioRequest, firing: Firing) -> HttpResponse:
    return render(request, "firings/_together.html", _together(request, firing))


def _together(request: StudioRequest, firing: Firing) -> dict[str, object]:
    pieces: list[LoadedPiece] = list(queries.pieces_in(firing, request.user))
    return {
        "firing": firing,
        "pieces": pieces,
        "is_kept": is_kept_from(request.user, firing),
        "version": queries.load_version(firing, request.user),
    }
