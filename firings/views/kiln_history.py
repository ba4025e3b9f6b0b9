from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from firings.actions.learning import kiln_learn as learn
from firings.charts import peak_drawing
from firings.queries import kiln_history as queries
from firings.queries import kiln_learnt
from firings.queries.service_due import services_due
from studio import access
from studio.models import Kiln
from studio.requests import StudioRequest

FIRINGS_A_PAGE = 25


def _fetch_kiln(request: StudioRequest, pk: int, act: str) -> Kiln:
    kiln = get_object_or_404(
        Kiln.objects.select_related("learnt_response").prefetch_related("service_entries"), pk=pk
    )
    access.require(request.user, act, kiln)
    return kiln


@require_GET
def kiln_history(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = _fetch_kiln(request, pk, "kiln.see")
    firings = queries.firings_in(kiln, request.user)
    page = Paginator(firings, FIRINGS_A_PAGE).get_page(request.GET.get("page"))
    differences = queries.peak_differences(kiln)
    context = {
        "section": "kilns",
        "kiln": kiln,
        "page": page,
        "rows": queries.history_rows(page, request.user),
        "differences": differences,
        "drawing": differences and peak_drawing(differences.values, request.user.unit),
        "services": queries.service_lines(kiln),
        "due": services_due([kiln]),
        "learnt": kiln_learnt.learnt_of(kiln),
        "durations": kiln_learnt.durations(kiln),
        "ageing": kiln_learnt.ageing(kiln),
        "drift": kiln_learnt.drift(kiln, request.user),
    }
    return render(request, "firings/kiln_history.html", context)


@require_POST
def kiln_learn(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = _fetch_kiln(request, pk, "kiln.change")
    learnt = learn(kiln=kiln, afresh=True)
    if learnt is None:
        messages.warning(request, f"No recording of {kiln.name} to learn from yet.")
    else:
        messages.success(request, f"Learnt again from {learnt.recordings} recordings.")
    return redirect("firings:kiln_history", pk)
