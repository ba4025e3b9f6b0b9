"""Files of data loggers: sent, given back as they came, removed."""

from collections.abc import Sequence

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, Http404, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from django.views.decorators.vary import vary_on_headers
from django_htmx.http import HttpResponseClientRedirect

from firings.actions.record import StateError
from firings.actions.recording_files import recording_file_remove as remove_file
from firings.actions.recording_files import recording_files_add
from firings.forms.recording_files import RecordingFilesForm
from firings.models import Firing, RecordingFile
from firings.views.answers import told_at_firing
from firings.views.fetch import firing_to_load, recording_file_to
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def recording_add(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to_load(request.user, pk)
    if firing.started_at is None:
        return told_at_firing(request, pk, StateError(firing))
    sent = request.method == "POST"
    form = RecordingFilesForm(request.POST if sent else None, request.FILES if sent else None)
    if form.is_valid():
        return _add(request, firing, form)
    page = {"firing": firing, "form": form, "section": "logbook"}
    part = "_recording_add_form" if request.htmx else "recording_add"
    return render(request, f"firings/{part}.html", page)


@once
def _add(request: StudioRequest, firing: Firing, form: RecordingFilesForm) -> HttpResponse:
    """On to the first file that is to be looked at: nothing is taken unseen."""
    added, known = recording_files_add(
        firing=firing, by=request.user, files=form.cleaned_data["recordings"]
    )
    if known:
        messages.warning(request, _known_already(known))
    waiting = [file for file in (*added, *known) if file.taken_at is None]
    if not waiting:
        return _lead(request, "firings:firing_detail", firing.pk)
    return _lead(request, "firings:recording_import", waiting[0].pk)


def _known_already(known: Sequence[RecordingFile]) -> str:
    names = ", ".join(f"“{file.name}”" for file in known)
    return f"This firing has {names} already."


def _lead(request: StudioRequest, view: str, pk: int) -> HttpResponse:
    answer = redirect(view, pk)
    return HttpResponseClientRedirect(answer.url) if request.htmx else answer


@require_safe
def recording_original(request: StudioRequest, pk: int) -> HttpResponseBase:
    """The file as it came, to be saved: never shown by the browser itself."""
    file = recording_file_to(request.user, "firing.see_load", pk)
    try:
        opened = file.original.open("rb")
    except FileNotFoundError:
        raise Http404 from None
    return FileResponse(
        opened,
        as_attachment=True,
        filename=file.name,
        content_type="application/octet-stream",
        headers={"Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff"},
    )


@require_POST
@once
def recording_remove(request: StudioRequest, pk: int) -> HttpResponse:
    file = recording_file_to(request.user, "firing.change", pk)
    try:
        remove_file(file=file)
    except ValidationError as error:
        return told_at_firing(request, file.firing_id, error)
    messages.success(request, f"“{file.name}” is gone.")
    return redirect("firings:firing_detail", file.firing_id)
