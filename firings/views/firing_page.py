from math import isfinite

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from firings.forms.conversation import CommentForm
from firings.queries.firing_page import firing_page
from firings.queries.recorded import recorded_firing
from studio import access
from studio.requests import StudioRequest


@require_GET
def firing_detail(request: StudioRequest, pk: int) -> HttpResponse:
    access.require(request.user, "firing.see")
    page = firing_page(pk, reader=request.user, studio=request.studio)
    context = {
        "section": "logbook",
        "page": page,
        "firing": page.firing,
        "is_kept": page.is_kept,
        "load_check": page.load_check,
        "conversation": page.conversation,
        "comment_form": CommentForm(firing=page.firing),
    }
    return render(request, "firings/firing_detail.html", context)


@require_GET
def firing_chart_data(request: StudioRequest, pk: int) -> JsonResponse:
    """The figure; with `from` and `to`, s from its left edge, the recorded line in detail there."""
    access.require(request.user, "firing.see")
    since, until = (_seconds(request.GET.get(name)) for name in ("from", "to"))
    chart = recorded_firing(pk, request.user).chart(request.user.unit)
    if since is None or until is None:
        return JsonResponse(chart.figure)
    return JsonResponse(chart.detail(since, until))


def _seconds(text: str | None) -> float | None:
    try:
        seconds = float(text or "")
    except ValueError:
        return None
    return seconds if isfinite(seconds) else None
