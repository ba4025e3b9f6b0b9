"""A year of the studio on one page, and as lines for a spreadsheet."""

from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from firings.queries import year_costs as queries
from firings.queries.service_due import services_due
from firings.queries.year import studio_year
from firings.views.fetch import number_in
from firings.year_charts import looks_of, measured_years
from firings.year_export import year_cost_lines, year_fault_lines, year_lines
from firings.year_fault_charts import drawn_faults
from studio import access
from studio.csv_export import attached
from studio.requests import StudioRequest


@require_GET
def year(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "kiln.see")
    shown = studio_year(number_in(request.GET.get("year")), request.user)
    page = {
        "shown": shown,
        "measured": measured_years(shown),
        "faults": drawn_faults(shown),
        "keys": list(zip(shown.kilns, looks_of(shown.kilns), strict=True)),
        "due": services_due(),
        "section": "logbook",
    }
    return render(request, "firings/year.html", page)


@require_GET
def year_csv(request: StudioRequest) -> StreamingHttpResponse:
    access.require(request.user, "kiln.see")
    shown = studio_year(number_in(request.GET.get("year")), request.user)
    return attached(year_lines(shown), f"year-{shown.year}.csv")


@require_GET
def year_faults_csv(request: StudioRequest) -> StreamingHttpResponse:
    access.require(request.user, "kiln.see")
    shown = studio_year(number_in(request.GET.get("year")), request.user)
    return attached(year_fault_lines(shown), f"year-{shown.year}-faults.csv")


def _costs(request: StudioRequest) -> queries.YearCosts:
    access.require(request.user, "cost.see_all")
    return queries.year_costs(number_in(request.GET.get("year")))


@require_GET
def year_costs(request: StudioRequest) -> HttpResponse:
    page = {"costs": _costs(request), "section": "logbook"}
    return render(request, "firings/year_costs.html", page)


@require_GET
def year_costs_csv(request: StudioRequest) -> StreamingHttpResponse:
    costs = _costs(request)
    return attached(year_cost_lines(costs), f"year-{costs.year}-costs.csv")
