from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from studio import access
from studio.actions import stock
from studio.forms.stock import (
    CountForm,
    CutForm,
    CutFromForm,
    LevelForm,
    ReceiveForm,
    ReturnForm,
    SizeField,
    TakeFirstForm,
    TakeForm,
    UseForm,
)
from studio.models import GlassLot, StockMovement, Studio
from studio.queries.stock import (
    ShelfFilter,
    costed,
    kinds_on_the_shelf,
    low_kinds,
    measure_of,
    movements_of,
    pieces_that_hold,
    told_beside,
)
from studio.receipts import once
from studio.requests import StudioRequest
from studio.views.glass import fetch_kind

ROWS_A_PAGE = 50


class SizeSearch(forms.Form):
    size = SizeField(required=False, label="Large enough for", help_text="Like 180 × 120, in mm.")


def fetch_lot(request: StudioRequest, pk: int, act: str = "glass.see") -> GlassLot:
    lots = GlassLot.objects.select_related("kind__family").prefetch_related("sizes")
    lot = get_object_or_404(lots, pk=pk)
    access.require(request.user, act)
    return lot


def written(form: forms.BaseForm, write: Callable[[], object]) -> bool:
    """Whether it was written; what stands against it is told on the form."""
    try:
        write()
    except ValidationError as error:
        form.add_error(None, error)
        return False
    return True


@require_GET
def shelf_list(request: StudioRequest) -> HttpResponse:
    found = ShelfFilter(request.GET, kinds_on_the_shelf())
    sized = SizeSearch(request.GET)
    wanted = sized.cleaned_data["size"] if sized.is_valid() else None
    rows = pieces_that_hold(wanted, found.qs) if wanted else found.qs
    page = Paginator(rows, ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "section": "glass",
        "form": found.form,
        "sized": sized,
        "wanted": wanted,
        "page": page,
        "beside": found.beside,
        "among_them": found.among_them,
        "is_narrowed": found.is_narrowed,
        "rows": told_beside(page, found.beside),
    }
    return render(request, "studio/shelf_list.html", context)


@require_GET
def shelf_low(request: StudioRequest) -> HttpResponse:
    return render(request, "studio/shelf_low.html", {"section": "glass", "kinds": low_kinds()})


@require_http_methods(["GET", "POST"])
@once
def glass_receive(request: StudioRequest, pk: int) -> HttpResponse:
    kind = fetch_kind(request, pk)
    access.require(request.user, "stock.write")
    form = ReceiveForm(request.POST or None, kind=kind, currency=Studio.current().currency)

    def receive() -> object:
        return stock.lot_receive(kind=kind, by=request.user, **form.cleaned_data)

    if request.method == "POST" and form.is_valid() and written(form, receive):
        messages.success(request, f"{kind} is on the shelf.")
        return redirect("studio:glass_detail", pk)
    context = {"section": "glass", "kind": kind, "form": form}
    return render(request, "studio/glass_receive.html", context)


@require_http_methods(["GET", "POST"])
@once
def glass_take(request: StudioRequest, pk: int) -> HttpResponse:
    """An amount for a piece, from the lots of a kind, the first in first."""
    kind = fetch_kind(request, pk, "stock.cut")
    form = TakeFirstForm(request.POST or None, measure=measure_of(kind))

    def take() -> object:
        return stock.stock_take_first_in(
            kind=kind, by=request.user, what="cut", **form.cleaned_data
        )

    if request.method == "POST" and form.is_valid() and written(form, take):
        messages.success(request, "It is off the shelf.")
        return redirect("studio:glass_detail", pk)
    context = {"section": "glass", "kind": kind, "form": form}
    return render(request, "studio/glass_take.html", context)


@require_http_methods(["GET", "POST"])
def glass_level(request: StudioRequest, pk: int) -> HttpResponse:
    kind = fetch_kind(request, pk)
    access.require(request.user, "stock.write")
    form = LevelForm(request.POST or None, measure=measure_of(kind))
    if request.method == "POST" and form.is_valid():
        stock.level_set(kind=kind, low_below=form.cleaned_data["low_below"])
        messages.success(request, "Saved.")
        return redirect("studio:glass_detail", pk)
    context = {"section": "glass", "kind": kind, "form": form}
    return render(request, "studio/glass_level.html", context)


@require_GET
def lot_detail(request: StudioRequest, pk: int) -> HttpResponse:
    lot = fetch_lot(request, pk)
    page = Paginator(movements_of(lot), ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {"section": "glass", "lot": lot, "page": page, "rows": costed(page, lot)}
    return render(request, "studio/lot_detail.html", context)


@require_http_methods(["GET", "POST"])
@once
def lot_cut(request: StudioRequest, pk: int) -> HttpResponse:
    """For a piece: of sheet one piece is cut and its offcuts come back; else an amount."""
    lot = fetch_lot(request, pk, "stock.cut")
    if lot.is_sheet and request.method == "GET":
        return _cut_begun(request, lot)
    form = (CutForm if lot.is_sheet else UseForm)(request.POST or None, lot=lot)

    def cut() -> object:
        given: dict[str, Any] = {"lot": lot, "by": request.user}
        given["reason"] = form.cleaned_data["reason"]
        if isinstance(form, CutForm):
            given |= {name: form.cleaned_data[name] for name in ("sheet", "wanted")}
            return stock.stock_cut(**given, offcuts=form.offcuts)
        return stock.stock_take(**given, what="cut", amount=form.cleaned_data["amount"])

    return _lot_act(request, lot, form, cut, "cut")


@require_http_methods(["GET", "POST"])
@once
def lot_take(request: StudioRequest, pk: int) -> HttpResponse:
    lot = fetch_lot(request, pk, "stock.write")
    form = TakeForm(request.POST or None, lot=lot)
    given = {"lot": lot, "by": request.user}
    return _lot_act(
        request, lot, form, lambda: stock.stock_take(**given | form.cleaned_data), "take"
    )


@require_http_methods(["GET", "POST"])
@once
def lot_return(request: StudioRequest, pk: int) -> HttpResponse:
    lot = fetch_lot(request, pk, "stock.cut")
    form = ReturnForm(request.POST or None, lot=lot)
    given = {"lot": lot, "by": request.user}
    return _lot_act(
        request, lot, form, lambda: stock.stock_return(**given | form.cleaned_data), "return"
    )


@require_http_methods(["GET", "POST"])
@once
def lot_count(request: StudioRequest, pk: int) -> HttpResponse:
    lot = fetch_lot(request, pk, "stock.write")
    form = CountForm(request.POST or None, lot=lot)

    def count() -> object:
        found = dict(form.cleaned_data)
        return stock.stock_count(lot=lot, by=request.user, found=found.pop("amount"), **found)

    return _lot_act(request, lot, form, count, "count")


@require_POST
def movement_take_back(request: StudioRequest, pk: int) -> HttpResponse:
    movement = get_object_or_404(StockMovement.objects.select_related("lot"), pk=pk)
    access.require(request.user, "stock.take_back", movement)
    try:
        stock.movement_take_back(movement=movement, by=request.user)
        messages.success(request, "A counter-movement is written.")
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("studio:lot_detail", movement.lot_id)


def _cut_begun(request: StudioRequest, lot: GlassLot) -> HttpResponse:
    """First the piece of sheet and what is wanted; then, with what is proposed, the cut."""
    asked = CutFromForm(request.GET if request.GET.keys() & {"sheet", "wanted"} else None, lot=lot)
    if not asked.is_valid():
        return _lot_page(request, lot, asked, "cut_from")
    return _lot_page(request, lot, CutForm(lot=lot, initial=asked.proposal), "cut")


def _lot_act(
    request: StudioRequest,
    lot: GlassLot,
    form: forms.Form,
    write: Callable[[], object],
    act: str,
) -> HttpResponse:
    if request.method == "POST" and form.is_valid() and written(form, write):
        messages.success(request, "The lot has a new line.")
        return redirect("studio:lot_detail", lot.pk)
    return _lot_page(request, lot, form, act)


def _lot_page(request: StudioRequest, lot: GlassLot, form: forms.Form, act: str) -> HttpResponse:
    context = {"section": "glass", "lot": lot, "form": form, "act": act}
    return render(request, "studio/lot_act.html", context)
