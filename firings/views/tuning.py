from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from firings.actions.tuning import note_take as take
from firings.forms.tuning import NoteForm
from firings.models import Firing, FiringState
from studio import access
from studio.receipts import once
from studio.requests import StudioRequest


def _firing_to_revise(request: StudioRequest, pk: int) -> Firing:
    firing = get_object_or_404(
        Firing.objects.select_related("kiln", "revision__schedule"),
        pk=pk,
        state=FiringState.OPENED,
    )
    access.require(request.user, "schedule.revise", firing.revision.schedule)
    return firing


@require_POST
@once
def note_take(request: StudioRequest, pk: int) -> HttpResponse:
    """Make the next revision as the note on the firing's page says."""
    firing = _firing_to_revise(request, pk)
    form = NoteForm(request.POST)
    if not form.is_valid():
        messages.error(request, "The note could not be read; look at it again.")
        return redirect("firings:firing_detail", pk=pk)
    try:
        taken = take(firing=firing, by=request.user, studio=request.studio, **form.cleaned_data)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
        return redirect("firings:firing_detail", pk=pk)
    revision = taken.revision
    if taken.taken_by_id == request.user.pk:
        told = f"Revision {revision.number} is made, with the note as its reason."
    else:
        told = f"{taken.taken_by} took this note already: revision {revision.number}."
    messages.success(request, told)
    return redirect("schedules:revision_detail", pk=revision.schedule_id, number=revision.number)
