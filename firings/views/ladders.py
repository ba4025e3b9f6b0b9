"""Test series: thought of, made, planned, printed and judged in a row."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from firings.actions import ladder as actions
from firings.forms.ladder import (
    LadderForm,
    LadderPlanForm,
    RungForm,
    RungTakeForm,
    first_start,
)
from firings.models import FiringState, Ladder, LoadedPiece, Rung, Varies
from firings.queries.labels import rung_labels
from firings.queries.ladder_plan import foretold_rungs, suggested
from firings.queries.ladders import ladder_in_row, ladders
from firings.queries.tuning_page import Tuning, tuning_of
from firings.views.answers import put_at_fields
from firings.views.fetch import loaded_piece_to_judge
from firings.views.kept import told_to_device
from schedules.actions.revision import MovedOnError
from schedules.models import Schedule
from studio import access
from studio.receipts import once
from studio.requests import StudioRequest


def _ladder_to(request: StudioRequest, act: str, pk: int) -> Ladder:
    ladder = get_object_or_404(
        Ladder.objects.select_related(
            "schedule__family", "schedule__owner", "kiln", "glass__family", "place", "made_by"
        ),
        pk=pk,
    )
    access.require(request.user, act, ladder.schedule)
    return ladder


def _tuning(request: StudioRequest, schedule: Schedule, kiln_pk: str | None) -> Tuning:
    return tuning_of(schedule, studio=request.studio, reader=request.user, kiln_pk=kiln_pk)


@require_GET
def ladder_list(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "schedule.see")
    page = {"ladders": ladders(), "section": "schedules"}
    return render(request, "firings/ladder_list.html", page)


@require_http_methods(["GET", "POST"])
@once
def ladder_make(request: StudioRequest, pk: int) -> HttpResponse:
    schedule = get_object_or_404(Schedule, pk=pk)
    access.require(request.user, "schedule.revise", schedule)
    tuning = _tuning(request, schedule, request.GET.get("kiln"))
    varies = Varies.HOLD if request.GET.get("varies") == Varies.HOLD else Varies.PEAK
    page = {"section": "schedules", "schedule": schedule, "tuning": tuning, "varies": varies}
    if tuning.kiln is None:
        return render(request, "firings/ladder_make.html", page)
    form = LadderForm(
        request.POST if request.method == "POST" else None,
        instance=Ladder(varies=varies),
        newest=tuning.newest,
        kiln=tuning.kiln,
        varies=varies,
        suggested=suggested(tuning, varies),
        only_look="look" in request.POST,
    )
    newest_seen = tuning.newest.number
    if "look" not in request.POST and form.is_valid():
        assert form.plan is not None  # noqa: S101  a valid form has one
        try:
            made = actions.ladder_make(
                schedule=schedule,
                kiln=tuning.kiln,
                by=request.user,
                studio=request.studio,
                plan=form.plan,
                **form.facts(),
            )
        except MovedOnError as moved:
            form.add_error(None, f"{moved.messages[0]} The ladder now begins from that one.")
            newest_seen = moved.newest.number
            tuning = _tuning(request, schedule, request.GET.get("kiln"))
            page["tuning"] = tuning
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "The ladder is made. Plan its firings, and print its labels.")
            return redirect("firings:ladder_detail", made.pk)
    plan = form.plan
    page |= {
        "form": form,
        "newest_seen": newest_seen,
        "rungs": [] if plan is None else foretold_rungs(plan, tuning, request.user.unit),
    }
    return render(request, "firings/ladder_make.html", page)


@require_GET
def ladder_detail(request: StudioRequest, pk: int) -> HttpResponse:
    ladder = _ladder_to(request, "schedule.see", pk)
    return _in_row(request, ladder)


@require_POST
@once
def ladder_plan(request: StudioRequest, pk: int) -> HttpResponse:
    """Plans the firings of all rungs that have none; it comes back with what was wrong."""
    ladder = _ladder_to(request, "schedule.revise", pk)
    form = LadderPlanForm(request.POST)
    if form.is_valid():
        try:
            planned = actions.ladder_plan(ladder=ladder, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            words = "firing is" if len(planned) == 1 else "firings are"
            messages.success(request, f"{len(planned)} {words} planned, each with its tile.")
            return redirect("firings:ladder_detail", pk)
    return _in_row(request, ladder, form)


def _in_row(
    request: StudioRequest, ladder: Ladder, plan_form: LadderPlanForm | None = None
) -> HttpResponse:
    tuning = _tuning(request, ladder.schedule, str(ladder.kiln_id))
    shown = ladder_in_row(ladder, request.user, tuning)
    begin = {"starts_at": first_start(), "daily": True}
    page = {
        "section": "schedules",
        "ladder": ladder,
        "shown": shown,
        "tuning": tuning,
        "plan_form": plan_form or LadderPlanForm(initial=begin),
        "forms": [(row, RungForm(loaded=row.loaded)) for row in shown.to_judge if row.loaded],
    }
    return render(request, "firings/ladder_detail.html", page)


@require_http_methods(["GET", "POST"])
@told_to_device
def rung_judge(request: StudioRequest, pk: int) -> HttpResponse:
    """One tile by itself; on the page of its series its form stands in a row with the others'."""
    rung = get_object_or_404(Rung.objects.select_related("ladder__schedule"), pk=pk)
    if rung.loaded_id is None:
        raise Http404
    loaded = loaded_piece_to_judge(request.user, rung.loaded_id)
    data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    form = RungForm(data, files, loaded=loaded)
    if form.is_valid():
        return _judged(request, rung, loaded, form)
    if files:
        form.ask_for_pictures_again()
    return _rung_page(request, rung, loaded, form)


@once
def _judged(
    request: StudioRequest, rung: Rung, loaded: LoadedPiece, form: RungForm
) -> HttpResponse:
    """Within the receipt's transaction; the photographs were made ready before it began."""
    try:
        actions.rung_judge(loaded=loaded, by=request.user, **form.facts())
    except ValidationError as error:
        put_at_fields(form, error)
        return _rung_page(request, rung, loaded, form)
    messages.success(request, f"Rung {rung.number} is kept.")
    return redirect(f"{reverse('firings:ladder_detail', args=[rung.ladder_id])}#rung-{rung.number}")


def _rung_page(
    request: StudioRequest, rung: Rung, loaded: LoadedPiece, form: RungForm
) -> HttpResponse:
    page = {
        "section": "schedules",
        "rung": rung,
        "ladder": rung.ladder,
        "loaded": loaded,
        "is_opened": loaded.firing.state == FiringState.OPENED,
        "form": form,
    }
    return render(request, "firings/rung_judge.html", page)


@require_POST
@once
def rung_take(request: StudioRequest, pk: int) -> HttpResponse:
    """The rung becomes the schedule's next revision."""
    rung = get_object_or_404(
        Rung.objects.select_related("ladder__schedule", "ladder__kiln", "loaded__review"), pk=pk
    )
    access.require(request.user, "schedule.revise", rung.ladder.schedule)
    form = RungTakeForm(request.POST)
    if not form.is_valid():
        messages.error(request, "The rung could not be read; look at it again.")
        return redirect("firings:ladder_detail", rung.ladder_id)
    try:
        made = actions.rung_take(rung=rung, by=request.user, **form.cleaned_data)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("firings:ladder_detail", rung.ladder_id)
    messages.success(request, f"Revision {made.number} is made, as rung {rung.number} was fired.")
    return redirect("schedules:revision_detail", made.schedule_id, made.number)


@require_POST
def ladder_close(request: StudioRequest, pk: int) -> HttpResponse:
    ladder = _ladder_to(request, "schedule.revise", pk)
    actions.ladder_close(ladder=ladder)
    messages.success(request, f"“{ladder}” is closed; what it says goes on counting.")
    return redirect("firings:ladder_detail", pk)


@require_POST
def ladder_reopen(request: StudioRequest, pk: int) -> HttpResponse:
    ladder = _ladder_to(request, "schedule.revise", pk)
    actions.ladder_reopen(ladder=ladder)
    messages.success(request, f"“{ladder}” is under way again.")
    return redirect("firings:ladder_detail", pk)


@require_GET
def ladder_labels(request: StudioRequest, pk: int) -> HttpResponse:
    """One for each tile, on one sheet."""
    ladder = _ladder_to(request, "schedule.see", pk)
    page = {
        "section": "schedules",
        "ladder": ladder,
        "labels": rung_labels(ladder, request.build_absolute_uri),
    }
    return render(request, "firings/ladder_labels.html", page)


@require_GET
def rung_code(request: StudioRequest, code: str) -> HttpResponse:
    """What a tile's label opens: its rung in the row."""
    rung = get_object_or_404(Rung.objects.select_related("ladder__schedule"), code=code)
    access.require(request.user, "schedule.see", rung.ladder.schedule)
    return redirect(f"{reverse('firings:ladder_detail', args=[rung.ladder_id])}#rung-{rung.number}")
