"""The page on which a schedule is drafted from what is to be fired, and kept if it is wanted."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from schedules.actions.revision import MovedOnError, revision_make
from schedules.actions.schedule import schedule_make
from schedules.forms.drafting import DraftForm, DraftNameForm
from schedules.models import Revision, Schedule
from schedules.queries.drafting import (
    Draft,
    Givens,
    Refusal,
    asked_givens,
    draft_of,
    givens_of,
    usual_givens,
)
from schedules.views.revision import tell_moved_on
from schedules.views.schedule import schedule_of
from studio import access
from studio.receipts import once

CHANGED = (
    "Not kept yet: the draft is no longer the one that you saw. Look at it, and save it again."
)
NOT_OF_THIS = "It is for another process, glass or thickness: write it as a schedule of its own."


@require_http_methods(["GET", "POST"])
def schedule_draft(request: HttpRequest) -> HttpResponse:
    access.require(request.user, "schedule.write")
    anew = _schedule_drafted_anew(request)
    if request.method == "POST" and "do" not in request.POST:
        return _draft_save(request, anew)
    form = _form(request, anew)
    drafted = _drafted(form, anew)
    name = DraftNameForm(initial={"name": request.POST.get("name", "")}, usual_name=_name(drafted))
    return _answer(request, form, drafted, name, anew)


@once
def _draft_save(request: HttpRequest, anew: Schedule | None) -> HttpResponse:
    form = _form(request, anew)
    drafted = _drafted(form, anew)
    name = DraftNameForm(request.POST, usual_name=_name(drafted))
    if isinstance(drafted, Draft) and name.is_valid():
        if request.POST.get("shown") != drafted.fingerprint:
            name.add_error(None, CHANGED)
        else:
            try:
                return _keep(request, drafted, name.cleaned_data["name"], anew)
            except MovedOnError as moved:
                tell_moved_on(name, moved)
            except ValidationError as error:
                name.add_error(None, error.messages)
    return _answer(request, form, drafted, name, anew)


def _keep(request: HttpRequest, drafted: Draft, name: str, anew: Schedule | None) -> HttpResponse:
    givens = drafted.givens
    written: dict[str, Any] = {
        "segments": drafted.written,
        "unit": drafted.unit,
        "reason": givens.reason,
        "written_for": givens.kiln,
    }
    if request.POST.get("save") == "revision" and anew is not None:
        access.require(request.user, "schedule.revise", anew)
        if not givens.fit(anew):
            raise ValidationError(NOT_OF_THIS)
        seen = request.POST.get("newest_seen", "")
        newest_seen = int(seen) if seen.isdecimal() else None
        made = revision_make(schedule=anew, by=request.user, newest_seen=newest_seen, **written)  # type: ignore[arg-type]
        messages.success(request, f"Revision {made.number} is on record, as it was drafted.")
        return redirect("schedules:schedule_detail", pk=anew.pk)
    schedule = schedule_make(
        owner=request.user,  # type: ignore[arg-type]
        name=name,
        process=givens.process,
        family=givens.family,
        thinnest_mm=givens.thinnest_mm,
        thickest_mm=givens.thickest_mm,
        **written,
    )
    messages.success(request, f"{schedule} is on record as revision 1, as it was drafted.")
    return redirect("schedules:schedule_detail", pk=schedule.pk)


def _schedule_drafted_anew(request: HttpRequest) -> Schedule | None:
    wanted = request.GET.get("schedule", "")
    return schedule_of(request, int(wanted)) if wanted.isdecimal() else None


def _form(request: HttpRequest, anew: Schedule | None) -> DraftForm:
    unit = request.user.unit  # type: ignore[union-attr]
    if request.method == "POST":
        return DraftForm(request.POST, unit=unit)
    given = usual_givens(request.user)  # type: ignore[arg-type]
    if anew is not None:
        given |= givens_of(anew)
    given |= asked_givens(DraftForm.base_fields, request.GET)
    return DraftForm(initial=given, unit=unit)


def _drafted(form: DraftForm, anew: Schedule | None) -> Draft | Refusal | None:
    """For what stands in the form, as far as that can be read."""
    read = form
    if not form.is_bound:
        read = DraftForm({field.name: field.value() for field in form}, unit=form.unit)
    return draft_of(Givens(**read.cleaned_data), anew) if read.is_valid() else None


def _name(drafted: Draft | Refusal | None) -> str:
    return "" if drafted is None else drafted.givens.usual_name


def _answer(
    request: HttpRequest,
    form: DraftForm,
    drafted: Draft | Refusal | None,
    name: DraftNameForm,
    anew: Schedule | None,
) -> HttpResponse:
    newest: Revision | None = None if anew is None else anew.revisions.first()
    live = request.htmx  # type: ignore[attr-defined]
    context = {
        "section": "schedules",
        "live": live,
        "form": form,
        "draft": drafted if isinstance(drafted, Draft) else None,
        "refusal": drafted if isinstance(drafted, Refusal) else None,
        "name": name,
        "anew": anew,
        "newest": newest,
        "is_revision": anew is not None and drafted is not None and drafted.givens.fit(anew),
    }
    page = "schedules/_draft.html" if live else "schedules/schedule_draft.html"
    return render(request, page, context)
