from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from firings.forms.side_by_side import SideBySideForm
from firings.forms.what_if import Step, WhatIfForm
from firings.queries.side_by_side import ticked_of
from firings.queries.tuned_firings import tuned_firings, with_revisions
from firings.queries.tuning_page import Tuning, tuning_of
from firings.queries.tuning_shelf import tuning_shelf
from schedules.models import Schedule
from schedules.queries.revision_page import revisions_of
from studio import access
from studio.requests import StudioRequest

FIRINGS_A_PAGE = 20


def _schedule_to_see(request: StudioRequest, pk: int) -> Schedule:
    schedule = get_object_or_404(Schedule, pk=pk)
    access.require(request.user, "schedule.see", schedule)
    access.require(request.user, "firing.see")
    return schedule


@require_GET
def schedule_tuning(request: StudioRequest, pk: int) -> HttpResponse:
    """What the firings of a schedule say of it; asked by htmx, the what-if alone."""
    schedule = _schedule_to_see(request, pk)
    tuning = tuning_of(
        schedule,
        studio=request.studio,
        reader=request.user,
        kiln_pk=request.GET.get("kiln"),
    )
    context = {"section": "schedules", "tuning": tuning, **_what_if(request, tuning)}
    if not request.htmx:
        unit = request.user.unit
        page = Paginator(tuning.firings[::-1], FIRINGS_A_PAGE).get_page(request.GET.get("page"))
        tuned = tuned_firings(tuning, list(page))
        context |= {
            "schedule": tuning.schedule,
            "page": page,
            "tuned": tuned,
            "pictured": [each for each in tuned if each.photograph],
            "ticked": ticked_of(
                SideBySideForm(request.GET).to_show, [each.firing.pk for each in tuned]
            ),
            "entries": with_revisions(tuning, tuned, list(revisions_of(schedule))),
            "drawings": tuning.drawings(unit),
            "says": tuning.says(unit),
            "rows": tuning.rows(unit),
            "shelf": tuning_shelf(tuning),
        }
    template = "firings/_what_if.html" if request.htmx else "firings/schedule_tuning.html"
    response = render(request, template, context)
    response.headers["Vary"] = "HX-Request"
    return response


def _what_if(request: StudioRequest, tuning: Tuning) -> dict[str, object]:
    """The form and what it asks for; nothing where heat work says nothing of this schedule."""
    if tuning.history is None:
        return {}
    form = WhatIfForm(
        request.GET,
        top=tuning.top,
        limits=tuning.limits,
        unit=request.user.unit,
        usual=Step(*tuning.usual_steps),
    )
    changed = tuning.what_if(*form.change)
    return {"form": form, "what_if": changed, "chances": tuning.chances(changed)}
