from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from firings.forecast_charts import reliability_drawing
from firings.forms.forecasts import ForecastFilter
from firings.queries.forecasts import forecast_record, forecasts_of
from firings.queries.visible import visible_forecasts
from schedules.models import Schedule
from studio import access
from studio.requests import StudioRequest

FORECASTS_A_PAGE = 25


@require_GET
def advice_record(request: StudioRequest) -> HttpResponse:
    """How the forecasts of all next-time notes did."""
    access.require(request.user, "firing.see")
    found = ForecastFilter(request.GET, visible_forecasts(request.user))
    record = forecast_record(found.qs, request.user)
    context = {
        "section": "logbook",
        "filter": found,
        "record": record,
        "calibration": record.calibration,
        "drawing": record.calibration and reliability_drawing(record.calibration),
    }
    return render(request, "firings/advice_record.html", context)


@require_GET
def schedule_forecasts(request: StudioRequest, pk: int) -> HttpResponse:
    """Each note that was given for a schedule, what was fired after it, and what came."""
    schedule = get_object_or_404(Schedule, pk=pk)
    access.require(request.user, "firing.see")
    ledger = forecasts_of(schedule, request.user)
    page = Paginator(ledger, FORECASTS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "section": "schedules",
        "schedule": schedule,
        "page": page,
        "record": forecast_record(ledger, request.user),
    }
    return render(request, "firings/schedule_forecasts.html", context)
