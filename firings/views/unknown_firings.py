"""A kiln that was found running: what it was, or that it is over."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from firings.actions.unknown_firings import unknown_firing_become, unknown_firing_dismiss
from firings.forms.unknown_firing import BecomesForm, DismissForm
from firings.models import UnknownFiring
from firings.queries.labels import planned_to_name
from firings.views.answers import put_at_fields
from studio import access
from studio.models import Person
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@once
def unknown_firing(request: StudioRequest, pk: int) -> HttpResponse:
    unknown = _fetch(request.user, pk)
    data = request.POST if request.method == "POST" else None
    form = _becomes(request, unknown, data)
    if unknown.closed_at is None and form.is_valid():
        try:
            firing, noted = unknown_firing_become(
                unknown=unknown, by=request.user, **form.cleaned_data
            )
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "Now it is a firing, with the reading that was noted.")
            if noted is not None:
                messages.warning(request, f"{noted.comment} Its instructors are told.")
            return redirect("firings:firing_now", firing.pk)
    return _page(request, unknown, form, DismissForm())


@require_POST
@once
def unknown_firing_close(request: StudioRequest, pk: int) -> HttpResponse:
    unknown = _fetch(request.user, pk)
    form = DismissForm(request.POST)
    if form.is_valid():
        try:
            unknown_firing_dismiss(
                unknown=unknown, by=request.user, reason=form.cleaned_data["reason"]
            )
        except ValidationError as error:
            messages.warning(request, " ".join(error.messages))
            return redirect("firings:unknown_firing", pk)
        messages.success(request, f"{unknown.kiln} is free again.")
        return redirect("firings:today")
    return _page(request, unknown, _becomes(request, unknown), form)


def _becomes(
    request: StudioRequest, unknown: UnknownFiring, data: QueryDict | None = None
) -> BecomesForm:
    planned = planned_to_name(request.user, unknown.kiln)
    return BecomesForm(data, writer=request.user, planned=planned)


def _page(
    request: StudioRequest, unknown: UnknownFiring, form: BecomesForm, dismiss: DismissForm
) -> HttpResponse:
    page = {"section": "today", "unknown": unknown, "form": form, "dismiss_form": dismiss}
    return render(request, "firings/unknown_firing.html", page)


def _fetch(person: Person, pk: int) -> UnknownFiring:
    unknown = get_object_or_404(
        UnknownFiring.objects.select_related("kiln", "noted_by", "closed_by", "became"), pk=pk
    )
    access.require(person, "firing.write")
    return unknown
