"""The keying card of a planned firing, and what was keyed otherwise in one tap."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from firings.actions.keyed import keyed_set
from firings.models import Firing
from firings.views.fetch import firing_to
from schedules.queries.controller_memory import memory_of_revision
from schedules.queries.keying import KeyingCard, keying_card
from studio.receipts import once
from studio.requests import StudioRequest


@require_GET
def firing_card(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to(request.user, "firing.see", pk)
    context = {
        "firing": firing,
        "schedule": firing.revision.schedule,
        "revision": firing.revision,
        "page": _card_of(firing),
        "memory": memory_of_revision(firing.revision, firing.kiln),
        "section": "logbook",
    }
    return render(request, "firings/firing_card.html", context)


@require_POST
@once
def firing_card_keyed(request: StudioRequest, pk: int) -> HttpResponse:
    """It was keyed as the card says, with all that the controller can't take to the digit."""
    firing = firing_to(request.user, "firing.change", pk)
    differences = keyed_set(firing=firing, keyed=_card_of(firing).keyed_as_written)
    messages.success(
        request, f"{len(differences)} keyed differently." if differences else "Keyed as written."
    )
    return redirect("firings:firing_detail", pk)


def _card_of(firing: Firing) -> KeyingCard:
    return keying_card(firing.revision, firing.kiln, firing.started_at or firing.planned_start)
