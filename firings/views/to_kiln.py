from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from firings.actions.to_kiln import revision_move
from firings.forms.to_kiln import ToKilnForm
from firings.queries.to_kiln import ToKiln, to_kiln, usual_source
from schedules.actions.revision import MovedOnError
from schedules.forms.carrying import CarriedRevisionForm
from schedules.models import Revision
from schedules.views.revision import newest_seen_by, revision_of, tell_moved_on
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@once
def revision_to_kiln(request: StudioRequest, pk: int, number: int) -> HttpResponse:
    """A revision in another kiln, to be looked at and then kept as the next revision."""
    revision = revision_of(request, pk, number, "schedule.revise")
    asked = _asked(request, revision)
    newest_seen = newest_seen_by(request, revision)
    moved = form = None
    if asked.is_bound and asked.is_valid():
        moved = to_kiln(revision, request.studio, reader=request.user, **asked.cleaned_data)
        sent = request.POST if request.method == "POST" else None
        form = CarriedRevisionForm(sent, initial={"reason": moved.reason})
        if sent is not None and form.is_valid():
            try:
                return _make(request, moved, form.cleaned_data["reason"], newest_seen)
            except MovedOnError as error:
                newest_seen = tell_moved_on(form, error)
            except ValidationError as error:
                form.add_error(None, error.messages)
    context = {
        "section": "schedules",
        "schedule": revision.schedule,
        "revision": revision,
        "asked": asked,
        "moved": moved,
        "form": form,
        "newest_seen": newest_seen,
    }
    return render(request, "firings/revision_to_kiln.html", context)


def _asked(request: StudioRequest, revision: Revision) -> ToKilnForm:
    """Bound once a kiln is named, so that a page just opened shows no error."""
    sent = request.POST if request.method == "POST" else request.GET
    is_asked = request.method == "POST" or "to_kiln" in sent
    return ToKilnForm(
        sent if is_asked else None,
        initial={"from_kiln": usual_source(revision)},
        unit=request.user.unit,
    )


def _make(request: StudioRequest, moved: ToKiln, reason: str, newest_seen: int) -> HttpResponse:
    made = revision_move(
        moved=moved,
        by=request.user,
        reason=reason,
        seen=request.POST.get("seen", ""),
        newest_seen=newest_seen,
    )
    messages.success(request, f"Revision {made.number} is written for {made.written_for}.")
    return redirect("schedules:schedule_detail", pk=made.schedule_id)
