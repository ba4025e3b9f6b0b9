"""Clearing what a student plans, before it starts."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from firings.actions import record
from firings.actions.clearing import DecidedMeanwhileError, firing_decide
from firings.forms.clearing import ClearingForm, LetGoForm
from firings.models import Firing, FiringState
from firings.queries import clearing as queries
from firings.queries.load import load_check
from firings.queries.record import firing_for_page
from firings.views.answers import put_at_fields, told_at_firing
from firings.views.fetch import firing_to
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@once
def firing_clearing(request: StudioRequest, pk: int) -> HttpResponse:
    firing_to(request.user, "firing.clear", pk)
    firing = firing_for_page(pk)
    if firing.state != FiringState.PLANNED:
        return told_at_firing(request, pk, record.StateError(firing))
    form = ClearingForm(request.POST or None, firing=firing, initial=_shown(firing))
    if form.is_valid():
        try:
            made = firing_decide(firing=firing, by=request.user, **form.facts())
        except record.StateError as error:
            return told_at_firing(request, pk, error)
        except ValidationError as error:
            return _looked_again(request, firing, form, error)
        messages.success(request, f"{made.get_decision_display().capitalize()}.")
        return redirect("firings:review_desk")
    return _page(request, firing, form)


@require_http_methods(["GET", "POST"])
@once
def firing_let_go(request: StudioRequest, pk: int) -> HttpResponse:
    firing_to(request.user, "firing.let_go_uncleared", pk)
    firing = firing_for_page(pk)
    if firing.state != FiringState.PLANNED:
        return told_at_firing(request, pk, record.StateError(firing))
    form = LetGoForm(request.POST or None, initial=_shown(firing))
    if form.is_valid():
        try:
            firing_decide(firing=firing, by=request.user, **form.facts())
        except record.StateError as error:
            return told_at_firing(request, pk, error)
        except ValidationError as error:
            put_at_fields(form, error)
            _show_again(form, firing)
        else:
            messages.success(request, "It may be started now; your reason stands at the firing.")
            return redirect("firings:firing_detail", pk)
    page = {
        "firing": firing,
        "clearing": queries.clearing_of(firing),
        "form": form,
        "section": "logbook",
    }
    return render(request, "firings/firing_let_go.html", page)


@require_POST
@once
def firing_take_newest(request: StudioRequest, pk: int) -> HttpResponse:
    """Put the planned firing on its schedule's newest revision; it is looked at again then."""
    firing = firing_to(request.user, "firing.clear", pk)
    newer = queries.newer_revision(firing)
    if newer is not None:
        try:
            with transaction.atomic():
                record.firing_change(firing=firing, changes={"revision": newer})
        except ValidationError as error:
            return told_at_firing(request, pk, error)
        messages.success(request, f"It will be fired by revision {newer.number} now.")
    return redirect("firings:firing_clearing", pk)


def _shown(firing: Firing) -> dict[str, Any]:
    standing = queries.clearing_of(firing)
    return {"seen": standing.seen, "latest": standing.latest.pk if standing.latest else None}


def _show_again(form: ClearingForm | LetGoForm, firing: Firing) -> None:
    """What was typed stays; the next try is on what stands now."""
    shown = {name: "" if value is None else value for name, value in _shown(firing).items()}
    form.data = {name: form.data.get(name) for name in form.fields} | shown


def _looked_again(
    request: StudioRequest, firing: Firing, form: ClearingForm, error: ValidationError
) -> HttpResponse:
    put_at_fields(form, error)
    if isinstance(error, DecidedMeanwhileError):
        firing = firing_for_page(firing.pk)
        _show_again(form, firing)
    return _page(request, firing, form)


def _page(request: StudioRequest, firing: Firing, form: ClearingForm) -> HttpResponse:
    unit = request.user.unit
    page = {
        "firing": firing,
        "form": form,
        "clearing": queries.clearing_of(firing),
        "plan": queries.plan_to_clear(firing, unit),
        "newer": queries.newer_revision(firing),
        "load_check": load_check(firing, unit),
        "section": "people",
    }
    return render(request, "firings/firing_clearing.html", page)
