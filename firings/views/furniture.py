"""Moulds and shelves: what was fired on them since they were coated."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from firings.queries.furniture import coats_of, furniture_rows, made_on
from studio import access
from studio.actions import furniture as actions
from studio.forms.furniture import CoatForm, FurnitureForm
from studio.models import KilnFurniture
from studio.receipts import once
from studio.requests import StudioRequest


def _furniture(request: StudioRequest, pk: int, act: str) -> KilnFurniture:
    furniture = get_object_or_404(KilnFurniture.objects.select_related("kiln"), pk=pk)
    access.require(request.user, act)
    return furniture


@require_GET
def furniture_list(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "furniture.see")
    page = {"rows": furniture_rows(), "section": "kilns"}
    return render(request, "firings/furniture_list.html", page)


@require_http_methods(["GET", "POST"])
@once
def furniture_add(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "furniture.change")
    form = FurnitureForm(request.POST or None)
    if form.is_valid():
        furniture = form.save()
        return redirect("firings:furniture_detail", furniture.pk)
    return render(request, "firings/furniture_change.html", {"form": form, "section": "kilns"})


@require_GET
def furniture_detail(request: StudioRequest, pk: int) -> HttpResponse:
    return _detail(request, _furniture(request, pk, "furniture.see"), CoatForm())


def _detail(request: StudioRequest, furniture: KilnFurniture, form: CoatForm) -> HttpResponse:
    page = {
        "furniture": furniture,
        "coat": coats_of([furniture.pk])[furniture.pk],
        "pieces": list(made_on(furniture, request.user)),
        "coats": list(furniture.coated.select_related("by")),
        "form": form,
        "section": "kilns",
    }
    return render(request, "firings/furniture_detail.html", page)


@require_http_methods(["GET", "POST"])
def furniture_change(request: StudioRequest, pk: int) -> HttpResponse:
    furniture = _furniture(request, pk, "furniture.change")
    form = FurnitureForm(request.POST or None, instance=KilnFurniture.objects.get(pk=pk))
    if form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("firings:furniture_detail", pk)
    page = {"form": form, "furniture": furniture, "section": "kilns"}
    return render(request, "firings/furniture_change.html", page)


@require_POST
@once
def furniture_coat(request: StudioRequest, pk: int) -> HttpResponse:
    furniture = _furniture(request, pk, "furniture.coat")
    form = CoatForm(request.POST)
    if form.is_valid():
        try:
            actions.furniture_coat(furniture=furniture, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, f"{furniture} is coated anew.")
            return redirect("firings:furniture_detail", pk)
    return _detail(request, furniture, form)


@require_POST
def furniture_put_away(request: StudioRequest, pk: int) -> HttpResponse:
    furniture = _furniture(request, pk, "furniture.change")
    away = furniture.archived_at is None
    actions.furniture_put_away(furniture=furniture, away=away)
    messages.success(request, f"{furniture} is {'put away' if away else 'in use again'}.")
    return redirect("firings:furniture_detail", pk)
