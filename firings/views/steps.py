"""The steps that a piece is to go, and what is wanted when."""

from collections.abc import Callable

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from firings.actions import steps as actions
from firings.forms.steps import BeginForm, SkipForm, StepDoneForm, StepForm
from firings.models import ENDED, PieceStep
from firings.queries.piece_now import piece_on_record
from firings.queries.steps import steps_wanted
from firings.views.answers import put_at_fields
from firings.views.fetch import piece_to_plan, step_to_change
from studio import access
from studio.receipts import once
from studio.requests import StudioRequest

LINES_A_PAGE = 40


@require_GET
def step_list(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "step.see_wanted")
    lines = Paginator(steps_wanted(request.user), LINES_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "firings/step_list.html", {"page": lines, "section": "logbook"})


@require_http_methods(["GET", "POST"])
@once
def piece_begin(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "firing.write")
    form = BeginForm(request.POST or None, writer=request.user)
    if form.is_valid():
        try:
            piece = actions.piece_begin(**form.cleaned_data)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, f"“{piece}” is begun.")
            return redirect("firings:piece_detail", piece.pk)
    return render(request, "firings/piece_begin.html", {"form": form, "section": "logbook"})


@require_http_methods(["GET", "POST"])
@once
def steps_begin(request: StudioRequest, pk: int) -> HttpResponse:
    piece = piece_to_plan(request.user, pk)
    form = BeginForm(request.POST or None)
    if form.is_valid():
        try:
            actions.steps_begin(piece=piece, **form.cleaned_data)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            return redirect("firings:piece_detail", pk)
    page = {"form": form, "piece": piece, "section": "logbook"}
    return render(request, "firings/piece_begin.html", page)


@require_http_methods(["GET", "POST"])
@once
def step_add(request: StudioRequest, pk: int) -> HttpResponse:
    piece = piece_to_plan(request.user, pk)
    form = StepForm(request.POST or None)
    if form.is_valid():
        try:
            actions.step_add(piece=piece, **form.facts())
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            return redirect("firings:piece_detail", pk)
    page = {"form": form, "piece": piece, "section": "logbook"}
    return render(request, "firings/step_add.html", page)


@require_http_methods(["GET", "POST"])
def step_change(request: StudioRequest, pk: int) -> HttpResponse:
    step = step_to_change(request.user, pk)
    if request.method == "GET" and step.standing in ENDED:
        return _told(request, step, "This step is ended; it can be done again.")
    form = StepForm(request.POST or None, instance=step)
    if form.is_valid():
        try:
            actions.step_change(step=step, changes=form.changes())
        except actions.StepMovedOnError as error:
            return _told(request, step, error)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "Saved.")
            return redirect("firings:piece_detail", step.piece_id)
    page = {"form": form, "piece": step.piece, "step": step, "section": "logbook"}
    return render(request, "firings/step_change.html", page)


@require_http_methods(["GET", "POST"])
def step_done(request: StudioRequest, pk: int) -> HttpResponse:
    step = step_to_change(request.user, pk)
    form = StepDoneForm(request.POST or None, instance=step_to_change(request.user, pk))
    if form.is_valid():
        try:
            actions.step_done(step=step, by=request.user, **form.cleaned_data)
        except actions.StepMovedOnError as error:
            return _told(request, step, error)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, "Done.")
            return redirect("firings:piece_detail", step.piece_id)
    page = {
        "form": form,
        "piece": step.piece,
        "step": step,
        "record": piece_on_record(step.piece, request.user),
        "section": "logbook",
    }
    return render(request, "firings/step_done.html", page)


@require_http_methods(["GET", "POST"])
def step_skip(request: StudioRequest, pk: int) -> HttpResponse:
    step = step_to_change(request.user, pk)
    form = SkipForm(request.POST or None)
    if form.is_valid():
        return _act(
            request, step, lambda: actions.step_skip(step=step, **form.cleaned_data), "Skipped."
        )
    page = {"form": form, "piece": step.piece, "step": step, "section": "logbook"}
    return render(request, "firings/step_skip.html", page)


@require_POST
@once
def step_again(request: StudioRequest, pk: int) -> HttpResponse:
    step = step_to_change(request.user, pk)
    return _act(request, step, lambda: actions.step_again(step=step), "It is to be done again.")


@require_POST
def step_move(request: StudioRequest, pk: int) -> HttpResponse:
    step = step_to_change(request.user, pk)
    earlier = request.POST.get("way") == "earlier"
    return _act(request, step, lambda: actions.step_move(step=step, earlier=earlier), "Moved.")


@require_POST
def step_reopen(request: StudioRequest, pk: int) -> HttpResponse:
    step = step_to_change(request.user, pk)
    return _act(request, step, lambda: actions.step_reopen(step=step), "It is still to be done.")


@require_POST
def step_wait(request: StudioRequest, pk: int) -> HttpResponse:
    """On the list at once where all of it is known, or else by its form."""
    step = step_to_change(request.user, pk)
    try:
        actions.step_wait(step=step, by=request.user)
    except ValidationError as error:
        if getattr(error, "error_dict", {}).keys() <= {"__all__"}:
            return _told(request, step, error)
        messages.info(request, "Not all of it is known yet; write what is missing.")
        return redirect(f"{reverse('firings:waiting_add')}?piece={step.piece_id}")
    messages.success(request, f"“{step.piece}” waits for a kiln.")
    return redirect("firings:piece_detail", step.piece_id)


def _act(
    request: StudioRequest, step: PieceStep, act: Callable[[], object], done: str
) -> HttpResponse:
    try:
        act()
    except ValidationError as error:
        return _told(request, step, error)
    messages.success(request, done)
    return redirect("firings:piece_detail", step.piece_id)


def _told(request: StudioRequest, step: PieceStep, why: ValidationError | str) -> HttpResponse:
    """Back to the piece, with a calm word why nothing was done."""
    words = why if isinstance(why, str) else " ".join(why.messages)
    messages.warning(request, words)
    return redirect("firings:piece_detail", step.piece_id)
