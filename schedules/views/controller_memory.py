"""What a kiln's controller remembers, and the note that something was keyed into it."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from schedules.actions.controller_memory import slot_key
from schedules.forms.controller_memory import SlotForm
from schedules.queries.controller_memory import controller_memory
from studio import access
from studio.models import Kiln
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
def kiln_memory(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = get_object_or_404(Kiln, pk=pk)
    access.require(request.user, "kiln.see", kiln)
    memory = controller_memory(kiln)
    form = SlotForm(
        request.POST or None, kiln=kiln, initial={"slot": next(iter(memory.free), None)}
    )
    if request.method == "POST":
        access.require(request.user, "memory.key")
        if form.is_valid():
            try:
                keyed = slot_key(kiln=kiln, by=request.user, **form.cleaned_data)
            except ValidationError as error:
                form.add_error(None, error)
            else:
                messages.success(request, f"Slot {keyed.slot} is noted.")
                return redirect("schedules:kiln_memory", pk)
    page = {"kiln": kiln, "memory": memory, "form": form, "section": "kilns"}
    return render(request, "schedules/kiln_memory.html", page)
