"""A file of a data logger, as it was understood: agreed with, overruled, taken, taken back."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers

from firings.actions import recording as actions
from firings.models import RecordingFile
from firings.queries.recording_import import ImportPage, import_page, waiting_files
from firings.services.recording import RecordingError
from firings.views.answers import told_at_firing
from firings.views.fetch import recording_file_to
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def recording_import(request: StudioRequest, pk: int) -> HttpResponse:
    """How the file reads; sent back with choices, how it reads then."""
    file = recording_file_to(request.user, "firing.change", pk)
    page = import_page(file, reader=request.user)
    if request.method == "GET":
        return _shown(request, page)
    form = page.choices_form(request.POST)
    if not form.is_valid():
        page.form = form
        return _shown(request, page)
    as_seen = form.cleaned_data == file.choices
    try:
        if "take" in request.POST and as_seen:
            return _take(request, file)
        file = actions.recording_choose(file=file, choices=form.cleaned_data)
    except ValidationError as error:
        return told_at_firing(request, file.firing_id, error)
    if request.htmx:
        return _shown(request, import_page(file, reader=request.user))
    if "take" in request.POST:
        messages.warning(request, "Read anew as you chose: have a look, then take it.")
    return redirect("firings:recording_import", pk)


def _shown(request: StudioRequest, page: ImportPage) -> HttpResponse:
    part = "_recording_understood" if request.htmx else "recording_import"
    context = {"page": page, "file": page.file, "firing": page.file.firing, "section": "logbook"}
    return render(request, f"firings/{part}.html", context)


def _take(request: StudioRequest, file: RecordingFile) -> HttpResponse:
    """On to the firing’s next file, or to the firing."""
    try:
        actions.recording_take(file=file, by=request.user)
    except RecordingError:  # the page says what is wrong, and in which line
        return redirect("firings:recording_import", file.pk)
    messages.success(request, f"Taken: “{file.name}”.")
    waiting = waiting_files(file).first()
    if waiting is not None:
        return redirect("firings:recording_import", waiting.pk)
    return redirect("firings:firing_detail", file.firing_id)


@require_POST
def recording_take_back(request: StudioRequest, pk: int) -> HttpResponse:
    file = recording_file_to(request.user, "firing.change", pk)
    try:
        actions.recording_take_back(file=file)
    except ValidationError as error:
        return told_at_firing(request, file.firing_id, error)
    messages.success(request, f"Taken back: “{file.name}”. The file itself is kept.")
    return redirect("firings:firing_detail", file.firing_id)
