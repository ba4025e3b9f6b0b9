"""What goes into the kiln, piece by piece, and a piece over all of its firings."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from firings.actions import load
from firings.forms.choices import pieces_to_fire_again
from firings.forms.load import LoadedPieceForm
from firings.models import Firing, FiringState, LoadedPiece
from firings.queries.glass_use import with_glass
from firings.queries.labels import code_of
from firings.queries.load import load_check
from firings.queries.loading import firings_being_loaded
from firings.queries.piece_now import PieceOnRecord, known_of
from firings.queries.piece_page import piece_page
from firings.queries.record import firing_for_page
from firings.queries.storage import stays_of_piece
from firings.queries.visible import is_kept_from
from firings.queries.waiting import would_fit
from firings.views.answers import put_at_fields, told_at_firing
from firings.views.fetch import (
    firing_to,
    firing_to_load,
    loaded_piece_to_change,
    loaded_piece_to_take_out,
    number_in,
    piece_to_see,
)
from studio.receipts import once
from studio.requests import StudioRequest


@require_GET
def load_edit(request: StudioRequest, pk: int) -> HttpResponse:
    firing_to(request.user, "firing.see", pk)
    firing = firing_for_page(pk, request.user)
    is_kept = is_kept_from(request.user, firing)
    page = {
        "firing": firing,
        "is_kept": is_kept,
        "pieces": with_glass(firing.load.all()),
        "load_check": load_check(firing, request.user.unit),
        "fitting": [] if is_kept or firing.state != FiringState.PLANNED else would_fit(firing),
        "section": "logbook",
    }
    return render(request, "firings/load_edit.html", page)


@require_http_methods(["GET", "POST"])
@once
def piece_add(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to_load(request.user, pk)
    record, known = _asked_piece(request)
    form = LoadedPieceForm(request.POST or None, firing=firing, writer=request.user, initial=known)
    if form.is_valid():
        who = {name: form.cleaned_data[name] for name in ("maker", "title", "piece")}
        try:
            loaded = load.piece_load(firing=firing, by=request.user, **who, **form.facts())
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, f"“{loaded.piece}” is in the load.")
            _tell_untaken(request, form, loaded)
            return redirect("firings:load_edit", pk)
    page = {"firing": firing, "form": form, "record": record, "section": "logbook"}
    return render(request, "firings/piece_add.html", page)


def _asked_piece(request: StudioRequest) -> tuple[PieceOnRecord | None, dict[str, object]]:
    """The piece named by ?piece=, which waits or is fired again, and what the form starts with: as
    it waits, or else as it is now."""
    pk = number_in(request.GET.get("piece"))
    if pk is None:
        return None, {}
    piece = piece_to_see(request.user, pk)
    record, known = known_of(piece, request.user)
    return record, {"piece": piece, "maker": piece.maker, **known}


@require_http_methods(["GET", "POST"])
def piece_edit(request: StudioRequest, pk: int) -> HttpResponse:
    loaded = loaded_piece_to_change(request.user, pk)
    copy = LoadedPiece.objects.select_related("piece", "glass").get(pk=pk)
    form = LoadedPieceForm(
        request.POST or None, instance=copy, firing=loaded.firing, writer=request.user
    )
    if form.is_valid():
        try:
            title = form.cleaned_data["title"]
            load.piece_change(loaded=loaded, title=title, by=request.user, **form.facts())
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "Saved.")
            _tell_untaken(request, form, loaded)
            return redirect("firings:firing_detail", loaded.firing_id)
    page = {"firing": loaded.firing, "loaded": loaded, "form": form, "section": "logbook"}
    return render(request, "firings/piece_edit.html", page)


def _tell_untaken(request: StudioRequest, form: LoadedPieceForm, loaded: LoadedPiece) -> None:
    """Where glass was to be taken and the piece's facts don't tell how much."""
    glass = form.cleaned_data["glass"]
    wanted = form.cleaned_data["off_shelf"] and glass is not None and glass.lots.exists()
    if wanted and not loaded.glass_uses.filter(by_layers=True, given_back_at=None).exists():
        messages.info(
            request,
            f"Nothing was taken off the shelf: its length and width (of {glass.get_form_display()}"
            " also its thickness) tell how much. Write them, or take it under “Its glass”.",
        )


@require_POST
@once
def piece_remove(request: StudioRequest, pk: int) -> HttpResponse:
    loaded = loaded_piece_to_take_out(request.user, pk)
    firing_pk, title = loaded.firing_id, loaded.piece.title
    try:
        firing: Firing = load.piece_remove(loaded=loaded, by=request.user)
    except ValidationError as error:
        return told_at_firing(request, firing_pk, error)
    messages.success(request, f"“{title}” was taken out of the load.")
    page = "load_together" if request.POST.get("back") == "together" else "load_edit"
    return redirect(f"firings:{page}", firing.pk)


@require_GET
def piece_detail(request: StudioRequest, pk: int) -> HttpResponse:
    piece = piece_to_see(request.user, pk)
    ticket = code_of(piece)
    may_load = pieces_to_fire_again(request.user).filter(pk=pk).exists()
    page = {
        "piece": piece,
        "shown": piece_page(piece, request.user),
        "stays": list(stays_of_piece(piece)),
        "ticket": ticket,
        "being_loaded": firings_being_loaded(piece, request.user) if ticket and may_load else [],
        "section": "logbook",
    }
    return render(request, "firings/piece_detail.html", page)
