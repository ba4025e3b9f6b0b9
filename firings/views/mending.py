"""What can be done about a remark where a firing is planned: a change of its schedule, and being
silent."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from firings.actions import record
from firings.actions.mending import firing_mend as mend
from firings.actions.mending import revision_mend
from firings.forms.record import PlanForm
from firings.models import Firing, FiringState
from firings.queries.load import load_check
from firings.queries.plan import outlook_of, planning_remarks
from firings.queries.record import firing_for_page
from firings.views.answers import told_at_firing
from firings.views.fetch import firing_to, number_in
from schedules.models import Revision
from schedules.views.remarks import silence_heard
from studio import access
from studio.models import Kiln
from studio.receipts import once
from studio.requests import StudioRequest

GONE = "That remark is not there any more, or its change reads otherwise now. Nothing was changed."


@require_POST
@once
def firing_mend(request: StudioRequest, pk: int, key: str) -> HttpResponse:
    """Makes the change that was read, and has the firing fired by it."""
    firing = _planned_firing(request, "firing.change", pk)
    if firing.state != FiringState.PLANNED:
        return told_at_firing(request, pk, record.StateError(firing))
    remarks = load_check(firing, request.user.unit).remarks
    mending = remarks.mending_of(key, request.POST.get("change"))
    if mending is None:
        return told_at_firing(request, pk, ValidationError(GONE))
    try:
        mended = mend(
            firing=firing,
            by=request.user,
            segments=mending.written,
            reason=mending.reason,
            newest_seen=number_in(request.POST.get("newest_seen")),
        )
    except ValidationError as error:
        return told_at_firing(request, pk, error)
    number = mended.revision.number
    messages.success(request, f"Revision {number} is on record, and this firing goes by it.")
    return redirect("firings:firing_detail", pk)


@require_http_methods(["GET", "POST"])
@once
def firing_remark_silence(request: StudioRequest, pk: int, key: str) -> HttpResponse:
    firing = _planned_firing(request, "firing.see", pk)
    if firing.state != FiringState.PLANNED:
        return told_at_firing(request, pk, record.StateError(firing))
    return silence_heard(
        request,
        load_check(firing, request.user.unit).remarks.named(key),
        firing.revision,
        back=reverse("firings:firing_detail", args=[pk]),
        back_name=firing.title or f"Firing {pk}",
    )


@require_POST
def firing_plan_mend(request: StudioRequest) -> HttpResponse:
    """While it is being planned: the change is made, and everything typed stays as it is."""
    access.require(request.user, "firing.write")
    sent = request.POST.copy()
    form = _plan_form(request, sent)
    if (chosen := form.chosen()) is not None:
        try:
            made = _revision_mended(request, *chosen[:2])
        except ValidationError as error:
            messages.warning(request, " ".join(error.messages))
        else:
            messages.success(
                request, f"Revision {made.number} is on record, and chosen for this plan."
            )
            sent["revision"] = str(made.pk)
            form = _plan_form(request, sent)
    chosen = form.chosen()
    outlook = (
        None if chosen is None else outlook_of(chosen[0], chosen[1], request.user.unit, *chosen[2:])
    )
    page = {"form": form, "outlook": outlook, "section": "logbook"}
    return render(request, "firings/firing_plan.html", page)


def _plan_form(request: StudioRequest, sent: QueryDict) -> PlanForm:
    named = [pk for pk in [number_in(sent.get("revision"))] if pk]
    return PlanForm(sent, writer=request.user, also=named)


def _revision_mended(request: StudioRequest, revision: Revision, kiln: Kiln) -> Revision:
    access.require(request.user, "schedule.revise", revision.schedule)
    remarks = planning_remarks(revision, kiln, request.user.unit, mends=True)
    key = request.POST.get("mend", "")
    mending = remarks.mending_of(key, request.POST.get(f"change-{key}"))
    if mending is None:
        raise ValidationError(GONE)
    return revision_mend(
        revision=revision,
        by=request.user,
        segments=mending.written,
        reason=mending.reason,
        newest_seen=number_in(request.POST.get("newest_seen")),
    )


def _planned_firing(request: StudioRequest, act: str, pk: int) -> Firing:
    firing_to(request.user, act, pk)
    firing = firing_for_page(pk)
    access.require(request.user, "schedule.revise", firing.revision.schedule)
    return firing
