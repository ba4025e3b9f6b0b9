"""Labels of lots to print, and where their codes lead."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET

from studio import access
from studio.actions.labels import lot_labels_ready
from studio.forms.labels import LotLabelsForm
from studio.models import LotLabel
from studio.queries import labels as queries
from studio.requests import StudioRequest
from studio.views.glass import fetch_kind
from studio.views.stock import fetch_lot


@require_GET
def lot_labels(request: StudioRequest) -> HttpResponse:
    """Of the lots that are named, or of all that is left of a kind."""
    access.require(request.user, "glass.see")
    asked = request.GET.copy()
    named = asked.get("kind", "")
    kind = fetch_kind(request, int(named)) if named.isdecimal() else None
    offered = list(queries.lots_to_label(kind, asked.getlist("lot")))
    asked.setdefault("each", "size")
    if kind and "lot" not in asked:
        asked.setlist("lot", [str(lot.pk) for lot in offered])
    form = LotLabelsForm(asked, offered=offered)
    made = []
    if form.is_valid():
        ready = lot_labels_ready(lots=form.chosen)
        each = form.cleaned_data["each"]
        made = queries.lot_labels(ready, each, request.build_absolute_uri)
    page = {
        "section": "glass",
        "form": form,
        "labels": made,
        "is_cut_short": len(made) == queries.MOST_LABELS,
        "most": queries.MOST_LABELS,
    }
    return render(request, "studio/lot_labels.html", page)


@require_GET
def lot_code(request: StudioRequest, code: str) -> HttpResponse:
    """What a lot's label opens: the lot."""
    label = get_object_or_404(LotLabel, code=code)
    return redirect("studio:lot_detail", fetch_lot(request, label.lot_id).pk)
