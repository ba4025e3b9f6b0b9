"""Labels to print, and where their codes lead."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from firings.actions.labels import kiln_labels_ready, piece_labels_ready
from firings.actions.unknown_firings import unknown_firing_note
from firings.forms.unknown_firing import FoundRunningForm
from firings.models import Label
from firings.queries import labels as queries
from firings.views.answers import put_at_fields
from firings.views.fetch import firing_to, piece_to_see
from studio import access
from studio.models import Kiln
from studio.queries.labels import PrintedLabel
from studio.receipts import once
from studio.requests import StudioRequest


@require_GET
def kiln_label(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = get_object_or_404(Kiln, pk=pk)
    access.require(request.user, "kiln.see", kiln)
    made = [
        queries.kiln_label(each, request.build_absolute_uri)
        for each in kiln_labels_ready(kilns=[kiln])
    ]
    page = {"section": "kilns", "kiln": kiln, "labels": made}
    return render(request, "firings/kiln_label.html", page)


@require_GET
def piece_label(request: StudioRequest, pk: int) -> HttpResponse:
    piece = piece_to_see(request.user, pk)
    page = {"section": "logbook", "piece": piece, "labels": _of_pieces(request, [pk])}
    return render(request, "firings/piece_label.html", page)


@require_GET
def load_labels(request: StudioRequest, pk: int) -> HttpResponse:
    """One for each piece of a load, on one sheet."""
    firing = firing_to(request.user, "firing.see_load", pk)
    pieces = list(firing.load.values_list("piece_id", flat=True))
    page = {"section": "logbook", "firing": firing, "labels": _of_pieces(request, pieces)}
    return render(request, "firings/load_labels.html", page)


def _of_pieces(request: StudioRequest, pks: list[int]) -> list[PrintedLabel]:
    pieces = {each.pk: each for each in queries.pieces_for_labels(pks, request.user)}
    found = piece_labels_ready(pieces=pieces.values())
    for each in found:
        each.piece = pieces[each.piece_id or 0]  # with what was read ahead
    return [queries.piece_label(each, request.build_absolute_uri) for each in found]


@require_http_methods(["GET", "POST"])
@once
def kiln_code(request: StudioRequest, code: str) -> HttpResponse:
    """What a kiln's label opens: what is in it, what to start, or that it runs unknown."""
    label = get_object_or_404(Label.objects.select_related("kiln"), code=code, kiln__isnull=False)
    kiln: Kiln = label.kiln  # type: ignore[assignment]
    access.require(request.user, "firing.write")
    form = FoundRunningForm(
        request.POST if request.method == "POST" else None, unit=request.user.unit
    )
    if form.is_valid():
        link = request.build_absolute_uri(reverse("firings:kiln_code", args=[code]))
        try:
            unknown = unknown_firing_note(
                kiln=kiln, by=request.user, link=link, **form.cleaned_data
            )
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, f"Noted. {kiln} counts as taken, and its keeper is told.")
            return redirect("firings:unknown_firing", unknown.pk)
    page = {
        "section": "kilns",
        "kiln": kiln,
        "form": form,
        "here": queries.at_kiln(kiln, request.user, request.studio),
    }
    return render(request, "firings/kiln_code.html", page)


@require_GET
def piece_code(request: StudioRequest, code: str) -> HttpResponse:
    """What a piece's label opens: the piece, over all of its firings."""
    label = get_object_or_404(Label, code=code, piece__isnull=False)
    return redirect("firings:piece_detail", piece_to_see(request.user, label.piece_id or 0).pk)
