"""A year of the studio on one page, and as lines for a spreadsheet."""

from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from firings.queries.service_due import services_due
from firings.queries.year import studio_year
from firings.views.fetch import number_in
from firings.year_charts import looks_of, month_drawing
from firings.year_export import year_lines
from studio import access
from studio.requests import StudioRequest


@require_GET
def year(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "kiln.see")
    shown = studio_year(number_in(request.GET.get("year")), request.user)
    page = {
        "shown": shown,
        "drawing": month_drawing(shown.kilns, shown.first_days) if shown.kilns else None,
        "keys": zip([each.kiln.name for each in shown.kilns], looks_of(shown.kilns), strict=True),
        "due": services_due(),
        "section": "logbook",
    }
    return render(request, "firings/year.html", page)


@require_GET
def year_csv(request: StudioRequest) -> StreamingHttpResponse:
    access.require(request.user, "kiln.see")
    shown = studio_year(number_in(request.GET.get("year")), request.user)
    answer = StreamingHttpResponse(year_lines(shown), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="year-{shown.year}.csv"'
    return answer
