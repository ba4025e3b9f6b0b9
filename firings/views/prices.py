"""What things cost and what is charged: shown to all, set by keepers."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from firings.actions.prices import prices_set
from firings.forms.prices import PriceListForm
from firings.models import PriceList
from firings.queries.costs import price_lists, prices_on
from firings.views.answers import put_at_fields
from studio import access
from studio.receipts import once
from studio.requests import StudioRequest


@require_GET
def price_list(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "prices.see")
    lists = price_lists()
    page = {
        "lists": lists,
        "valid": prices_on(lists, timezone.now()),
        "today": timezone.localdate(),
        "section": "people",
    }
    return render(request, "firings/price_list.html", page)


@require_http_methods(["GET", "POST"])
@once
def price_list_add(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "prices.change")
    lists = price_lists()
    form = PriceListForm(request.POST or None, like=lists[0] if lists else None)
    return _saved(request, form, None)


@require_http_methods(["GET", "POST"])
def price_list_change(request: StudioRequest, pk: int) -> HttpResponse:
    access.require(request.user, "prices.change")
    prices = get_object_or_404(PriceList.objects.prefetch_related("kilns"), pk=pk)
    copy = PriceList.objects.prefetch_related("kilns").get(pk=pk)
    return _saved(request, PriceListForm(request.POST or None, instance=copy), prices)


def _saved(request: StudioRequest, form: PriceListForm, prices: PriceList | None) -> HttpResponse:
    if form.is_valid():
        try:
            prices_set(prices=prices, of_kilns=form.of_kilns(), **form.facts())
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "Saved.")
            return redirect("firings:price_list")
    page = {"form": form, "prices": prices, "section": "people"}
    return render(request, "firings/price_list_change.html", page)
