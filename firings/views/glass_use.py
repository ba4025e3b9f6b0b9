"""The glass that a loaded piece takes off the shelf."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from firings.actions import glass_use
from firings.forms.glass_use import GlassTakeForm, WhichGlassForm
from firings.models import GlassUse, LoadedPiece
from firings.queries.glass_use import glass_taken, kind_to_take
from firings.views.answers import put_at_fields
from firings.views.fetch import loaded_piece_to_change, number_in
from studio import access
from studio.receipts import once
from studio.requests import StudioRequest


def _loaded_to_take_for(request: StudioRequest, pk: int) -> LoadedPiece:
    access.require(request.user, "stock.cut")
    return loaded_piece_to_change(request.user, pk)


@require_http_methods(["GET", "POST"])
@once
def piece_glass(request: StudioRequest, pk: int) -> HttpResponse:
    """What it took; with ?kind= the form that takes of that kind."""
    loaded = _loaded_to_take_for(request, pk)
    form = _take_form(request, loaded)
    if form is not None and request.method == "POST" and form.is_valid():
        try:
            glass_use.glass_take(
                loaded=loaded, kind=form.kind, by=request.user, **form.cleaned_data
            )
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "It is off the shelf.")
            return redirect("firings:piece_glass", pk)
    page = {
        "loaded": loaded,
        "taken": glass_taken([loaded]).get(pk, []),
        "form": form,
        "which": WhichGlassForm(initial={"kind": loaded.glass_id}),
        "section": "logbook",
    }
    return render(request, "firings/piece_glass.html", page)


def _take_form(request: StudioRequest, loaded: LoadedPiece) -> GlassTakeForm | None:
    pk = number_in(request.GET.get("kind"))
    if pk is None:
        return None
    chosen = kind_to_take(pk)
    if chosen is None:
        raise Http404
    return GlassTakeForm(
        request.POST or None,
        kind=chosen.kind,
        measure=chosen.measure,
        loaded=loaded,
        writer=request.user,
    )


@require_POST
def glass_give_back(request: StudioRequest, pk: int) -> HttpResponse:
    use = get_object_or_404(GlassUse.objects.select_related("loaded_piece"), pk=pk)
    _loaded_to_take_for(request, use.loaded_piece_id)
    try:
        glass_use.glass_give_back(use=use, by=request.user)
        messages.success(request, f"{use.kind} is on the shelf again.")
    except ValidationError as error:
        messages.warning(request, " ".join(error.messages))
    return redirect("firings:piece_glass", use.loaded_piece_id)
