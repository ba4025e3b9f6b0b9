from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from schedules.actions.schedule import schedule_archive as archive
from schedules.actions.schedule import schedule_restore as restore
from schedules.forms.schedule import ScheduleEditForm
from schedules.forms.schedule_filter import ScheduleFilter
from schedules.models import Schedule
from schedules.page_parts import parts_of
from schedules.queries.revision_page import revision_page, revisions_of
from schedules.queries.schedule_list import schedule_lines, schedules_to_list
from studio import access
from studio.requests import StudioRequest

SCHEDULES_A_PAGE = 25


def schedule_of(request: HttpRequest, pk: int, act: str = "schedule.see") -> Schedule:
    schedule = get_object_or_404(
        Schedule.objects.select_related("family", "owner", "card__added_by"), pk=pk
    )
    access.require(request.user, act, schedule)
    return schedule


def may_mend(request: HttpRequest, schedule: Schedule) -> bool:
    """Whether the reader may write its next revision."""
    return schedule.archived_at is None and access.may(request.user, "schedule.revise", schedule)


@require_GET
def schedule_list(request: HttpRequest) -> HttpResponse:
    access.require(request.user, "schedule.see")
    found = ScheduleFilter(request.GET, queryset=schedules_to_list(), request=request)
    page = Paginator(found.qs, SCHEDULES_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "section": "schedules",
        "filter": found,
        "page": page,
        "lines": schedule_lines(page.object_list),
    }
    template = "schedules/_schedule_lines.html" if request.htmx else "schedules/schedule_list.html"  # type: ignore[attr-defined]
    response = render(request, template, context)
    response.headers["Vary"] = "HX-Request"
    return response


@require_GET
def schedule_detail(request: StudioRequest, pk: int) -> HttpResponse:
    schedule = schedule_of(request, pk)
    revisions = list(revisions_of(schedule))
    context: dict[str, Any] = {
        "section": "schedules",
        "schedule": schedule,
        "revisions": revisions,
        "parts": parts_of(schedule, request.user),
    }
    if revisions:
        context["newest"] = revisions[0]
        context["shown"] = revision_page(
            revisions[0],
            unit=request.GET.get("unit"),
            kiln_pk=request.GET.get("kiln"),
            may_mend=may_mend(request, schedule),
        )
    return render(request, "schedules/schedule_detail.html", context)


@require_http_methods(["GET", "POST"])
def schedule_edit(request: HttpRequest, pk: int) -> HttpResponse:
    schedule = schedule_of(request, pk, "schedule.revise")
    form = ScheduleEditForm(request.POST or None, instance=schedule)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("schedules:schedule_detail", pk=pk)
    schedule.refresh_from_db(fields=["name"])
    return render(
        request,
        "schedules/schedule_edit.html",
        {"section": "schedules", "schedule": schedule, "form": form},
    )


@require_POST
def schedule_archive(request: HttpRequest, pk: int) -> HttpResponse:
    schedule = archive(schedule=schedule_of(request, pk, "schedule.archive"))
    messages.success(request, f"{schedule} is archived; nothing of it is lost.")
    return redirect("schedules:schedule_detail", pk=pk)


@require_POST
def schedule_restore(request: HttpRequest, pk: int) -> HttpResponse:
    schedule = restore(schedule=schedule_of(request, pk, "schedule.archive"))
    messages.success(request, f"{schedule} is back in the list.")
    return redirect("schedules:schedule_detail", pk=pk)
