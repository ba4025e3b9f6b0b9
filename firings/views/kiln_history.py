from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from firings.charts import peak_drawing
from firings.queries import kiln_history as queries
from studio import access
from studio.models import Kiln
from studio.requests import StudioRequest

FIRINGS_A_PAGE = 25


@require_GET
def kiln_history(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = get_object_or_404(Kiln, pk=pk)
    access.require(request.user, "kiln.see", kiln)
    page = Paginator(queries.firings_in(kiln), FIRINGS_A_PAGE).get_page(request.GET.get("page"))
    differences = queries.peak_differences(kiln)
    context = {
        "section": "kilns",
        "kiln": kiln,
        "page": page,
        "rows": queries.history_rows(page),
        "differences": differences,
        "drawing": differences and peak_drawing(differences.values, request.user.unit),
        "services": queries.service_lines(kiln),
    }
    return render(request, "firings/kiln_history.html", context)
