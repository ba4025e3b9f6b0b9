from django.forms import BaseForm
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from schedules.actions.revision import MovedOnError
from schedules.models import Revision
from schedules.queries.revision_difference import revision_difference as difference_of
from schedules.queries.revision_page import revision_page, revisions_of
from schedules.views.schedule import may_mend, schedule_of


def revision_of(request: HttpRequest, pk: int, number: int, act: str = "schedule.see") -> Revision:
    schedule = schedule_of(request, pk, act)
    revision: Revision = get_object_or_404(revisions_of(schedule), number=number)
    revision.schedule = schedule
    return revision


def newest_seen_by(request: HttpRequest, revision: Revision) -> int:
    """The newest revision's number as the writer knew it when the page was opened."""
    sent = _number(request.POST.get("newest_seen"))
    return revision.schedule.revisions.latest().number if sent is None else sent


def tell_moved_on(form: BaseForm, moved: MovedOnError) -> int:
    """Says at the form that somebody was quicker; the number of the revision that the writer now
    knows of, so that saving again goes on top of it."""
    newest: int = moved.newest.number
    form.add_error(
        None,
        f"{moved.messages[0]} What you wrote is kept here; "
        f"save it again to make it revision {newest + 1}.",
    )
    return newest


@require_GET
def revision_detail(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    revision = revision_of(request, pk, number)
    shown = revision_page(
        revision,
        unit=request.GET.get("unit"),
        kiln_pk=request.GET.get("kiln"),
        may_mend=may_mend(request, revision.schedule),
    )
    context = {
        "section": "schedules",
        "schedule": revision.schedule,
        "revision": revision,
        "newest": revisions_of(revision.schedule).first(),
        "shown": shown,
    }
    return render(request, "schedules/revision_detail.html", context)


@require_GET
def revision_curve_data(request: HttpRequest, pk: int, number: int) -> JsonResponse:
    """The figure that takes the drawing's place; in the reader's unit unless one is asked for."""
    shown = revision_page(
        revision_of(request, pk, number),
        unit=request.GET.get("unit") or request.user.unit,  # type: ignore[union-attr]
        kiln_pk=request.GET.get("kiln"),
    )
    if shown.planned is None:
        raise Http404("No kiln to draw the curve for.")
    return JsonResponse(shown.planned.figure)


@require_GET
def revision_difference(request: HttpRequest, pk: int) -> HttpResponse:
    schedule = schedule_of(request, pk)
    found = difference_of(
        schedule,
        from_number=_number(request.GET.get("from")),
        to_number=_number(request.GET.get("to")),
        kiln_pk=request.GET.get("kiln"),
        may_mend=may_mend(request, schedule),
    )
    context = {
        "section": "schedules",
        "schedule": schedule,
        "revisions": revisions_of(schedule),
        "difference": found,
    }
    return render(request, "schedules/revision_difference.html", context)


def _number(text: str | None) -> int | None:
    return int(text) if text and text.isdecimal() and len(text) < 9 else None
