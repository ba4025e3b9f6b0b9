from django.core.paginator import Paginator
from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from firings.csv_export import logbook_lines
from firings.forms.logbook import LogbookFilter, kept_query
from firings.forms.side_by_side import SideBySideForm
from firings.queries.logbook import firings_for_logbook, logbook_row, logbook_rows
from firings.queries.side_by_side import ticked_of
from studio import access
from studio.csv_export import attached
from studio.requests import StudioRequest

FIRINGS_A_PAGE = 25
CSV_CHUNK = 500


@require_GET
@vary_on_headers("HX-Request")
def logbook(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "firing.see")
    found = LogbookFilter(request.GET, firings_for_logbook(request.user), request=request)
    page = Paginator(found.qs, FIRINGS_A_PAGE).get_page(request.GET.get("page"))
    query = kept_query(request.GET)
    rows = logbook_rows(page, request.user)
    context = {
        "section": "logbook",
        "filter": found,
        "page": page,
        "rows": rows,
        "ticked": ticked_of(SideBySideForm(request.GET).to_show, [row.firing.pk for row in rows]),
        "query": query,
    }
    if not request.htmx or request.htmx.history_restore_request:
        return render(request, "firings/logbook.html", context)
    response = render(request, "firings/_logbook_list.html", context)
    response["HX-Push-Url"] = reverse("firings:logbook") + (f"?{query}" if query else "")
    return response


@require_GET
def logbook_csv(request: StudioRequest) -> StreamingHttpResponse:
    """The filtered list, all pages of it, line by line as it is read."""
    access.require(request.user, "firing.see")
    found = LogbookFilter(request.GET, firings_for_logbook(request.user), request=request)
    firings = found.qs.iterator(chunk_size=CSV_CHUNK)
    lines = logbook_lines(
        (logbook_row(firing, request.user) for firing in firings),
        unit=request.user.unit,
        zone=timezone.get_current_timezone(),  # the lines are written after the request is over
    )
    return attached(lines, "logbook.csv")
