from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from firings.queries.firing_page import firing_figure, firing_page
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
        "load_remarks": page.load_remarks,
    }
    return render(request, "firings/firing_detail.html", context)


@require_GET
def firing_chart_data(request: StudioRequest, pk: int) -> JsonResponse:
    access.require(request.user, "firing.see")
    return JsonResponse(firing_figure(pk, reader=request.user))
