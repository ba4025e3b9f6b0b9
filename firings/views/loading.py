"""A kiln that several people load together: tickets scanned into its firing, places tapped."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import condition, require_http_methods, require_POST

from firings.actions.loading import piece_place, piece_scan
from firings.actions.record import StateError
from firings.forms.photographs import PhotographForm
from firings.forms.scanning import ScanForm
from firings.forms.tapping import PlaceForm
from firings.models import Firing, FiringState
from firings.queries import loading as queries
from firings.queries.spots import shelf_photographs
from firings.queries.visible import is_kept_from
from firings.views.answers import told_at_firing
from firings.views.fetch import firing_to, firing_to_load
from studio.receipts import once
from studio.requests import StudioRequest

LOADED_TOGETHER = (FiringState.PLANNED, FiringState.FIRING)


@require_http_methods(["GET", "POST"])
def load_together(request: StudioRequest, pk: int) -> HttpResponse:
    """Takes tickets; polled by its page (`HX-Request`), the list of who is in, or 304.

    It needs no receipt: a piece that is scanned twice is told to be in already.
    """
    if request.method == "POST":
        return _scanned(request, firing_to_load(request.user, pk))
    firing = firing_to(request.user, "firing.see", pk)
    if firing.state not in LOADED_TOGETHER:
        return redirect("firings:load_edit", pk)
    if request.htmx:
        return _list(request, firing)
    return _page(request, firing)


def _scanned(request: StudioRequest, firing: Firing) -> HttpResponse:
    form, loaded = ScanForm(request.POST, writer=request.user), None
    if form.is_valid():
        try:
            loaded = piece_scan(firing=firing, piece=form.cleaned_data["code"], by=request.user)
        except StateError as error:
            if not request.htmx:
                return told_at_firing(request, firing.pk, error)
            form.add_error("code", error)
        except ValidationError as error:
            form.add_error("code", error)
    if request.htmx:
        page = _together(request, firing) | {"form": form, "loaded": loaded}
        return render(request, "firings/_scanned.html", page)
    if loaded is None:
        return _page(request, firing, form=form)
    messages.success(request, f"“{loaded.piece}” is in.")
    return redirect("firings:load_together", firing.pk)


@require_POST
@once
def load_place(request: StudioRequest, pk: int) -> HttpResponse:
    """A piece at the place that was tapped on the map of the shelf."""
    firing = firing_to_load(request.user, pk)
    if firing.state not in LOADED_TOGETHER:
        return told_at_firing(request, pk, StateError(firing))
    form = _place_form(request, firing, request.POST)
    if not form.is_valid():
        return _page(request, firing, place_form=form)
    loaded, place = form.cleaned_data["loaded_piece"], form.cleaned_data["place"]
    piece_place(loaded=loaded, place=place)
    messages.success(request, f"“{loaded.piece}” lies at “{place}”.")
    return redirect(f"{reverse('firings:load_together', args=[pk])}#map")


def _place_form(request: StudioRequest, firing: Firing, data: QueryDict | None = None) -> PlaceForm:
    return PlaceForm(data, firing=firing, pieces=queries.pieces_in(firing, request.user))


def _page(
    request: StudioRequest,
    firing: Firing,
    *,
    form: ScanForm | None = None,
    place_form: PlaceForm | None = None,
) -> HttpResponse:
    page = _together(request, firing) | {
        "form": form or ScanForm(writer=request.user),
        "place_form": place_form or _place_form(request, firing),
        "photograph_form": PhotographForm(firing=firing, writer=request.user),
        "photographs": shelf_photographs(firing, request.user),
        "section": "logbook",
    }
    return render(request, "firings/load_together.html", page)


def _version(request: StudioRequest, firing: Firing) -> str:
    return f'W/"{queries.load_version(firing, request.user)}"'


@condition(etag_func=_version)
def _list(request: StudioRequest, firing: Firing) -> HttpResponse:
    return render(request, "firings/_together.html", _together(request, firing))


def _together(request: StudioRequest, firing: Firing) -> dict[str, object]:
    return {
        "firing": firing,
        "pieces": queries.pieces_in(firing, request.user),
        "is_kept": is_kept_from(request.user, firing),
        "version": queries.load_version(firing, request.user),
    }
