from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from schedules.actions.revision import MovedOnError, revision_make
from schedules.forms.carrying import CarriedRevisionForm, CarryingForm
from schedules.models import Revision
from schedules.queries.carrying import Carrying, carrying, usual_step
from schedules.views.revision import newest_seen_by, revision_of, tell_moved_on
from schedules.wording import LONGEST_REASON
from studio.formats import DEGREE, number
from studio.receipts import once


@require_http_methods(["GET", "POST"])
@once
def revision_carry(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    revision = revision_of(request, pk, number, "schedule.revise")
    steps = CarryingForm(request.POST if request.method == "POST" else _steps(request, revision))
    newest_seen = newest_seen_by(request, revision)
    carried = None
    form = CarriedRevisionForm()
    if steps.is_valid():
        carried = carrying(revision, **steps.cleaned_data)
        sent = request.POST if request.method == "POST" else None
        form = CarriedRevisionForm(sent, initial={"reason": _reason(carried, steps)})
        if sent is not None and form.is_valid():
            try:
                return _make(request, carried, form.cleaned_data["reason"], newest_seen)
            except MovedOnError as moved:
                newest_seen = tell_moved_on(form, moved)
            except ValidationError as error:
                form.add_error(None, error.messages)
    context = {
        "section": "schedules",
        "schedule": revision.schedule,
        "revision": revision,
        "steps": steps,
        "carried": carried,
        "form": form,
        "newest_seen": newest_seen,
    }
    return render(request, "schedules/revision_carry.html", context)


def _make(request: HttpRequest, carried: Carrying, reason: str, newest_seen: int) -> HttpResponse:
    """As it is carried, or with the change that satisfies one of its remarks."""
    keyed = carried.keyed
    if "mend" in request.POST:
        mending = carried.mending_of(request.POST["mend"])
        if mending is None:
            raise ValidationError("That remark is not there any more; nothing was saved.")
        keyed, reason = mending.written, f"{reason} {mending.reason}"[:LONGEST_REASON]
    elif carried.is_refused:
        raise ValidationError("The kiln can’t fire it as it stands.")
    made = revision_make(
        schedule=carried.revision.schedule,
        by=request.user,  # type: ignore[arg-type]
        segments=keyed,
        unit=carried.to_unit,
        reason=reason,
        copied_from=carried.revision,
        written_for=carried.revision.written_for,
        newest_seen=newest_seen,
    )
    messages.success(request, f"Revision {made.number} is written in {DEGREE[made.unit]}.")
    return redirect("schedules:schedule_detail", pk=made.schedule_id)


def _steps(request: HttpRequest, revision: Revision) -> dict[str, str]:
    usual = number(float(usual_step(revision)), 1)
    return {name: request.GET.get(name, usual) for name in ("targets", "rates")}


def _reason(carried: Carrying, steps: CarryingForm) -> str:
    before, after = DEGREE[carried.revision.unit], DEGREE[carried.to_unit]
    targets, rates = (number(float(steps.cleaned_data[name]), 1) for name in ("targets", "rates"))
    return (
        f"Carried from {before} (revision {carried.revision.number}) to {after}; "
        f"targets in steps of {targets}, rates of {rates}."
    )
