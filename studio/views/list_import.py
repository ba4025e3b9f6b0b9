"""A list is brought in: its file, its columns, what becomes of its rows, and how that went."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers

from studio import access
from studio.actions import list_import as actions
from studio.actions.list_run import run_soon
from studio.csv_export import attached, refused_lines
from studio.forms.list_import import ColumnsForm, ListFileForm
from studio.lists import BroughtList, SavedList, brought_list, saved_list
from studio.models import ImportState, ListImport
from studio.queries.list_import import import_page
from studio.receipts import once
from studio.requests import StudioRequest

ROWS_A_PAGE = 50


def fetch_kind(request: StudioRequest, key: str) -> tuple[SavedList, BroughtList]:
    saved, brought = saved_list(key), brought_list(key)
    if saved is None or brought is None:
        raise Http404
    access.require(request.user, "list.bring_in")
    access.require(request.user, brought.act)
    return saved, brought


def fetch_import(request: StudioRequest, pk: int) -> tuple[ListImport, SavedList, BroughtList]:
    taken = get_object_or_404(ListImport.objects.defer("packed", "judged"), pk=pk)
    access.require(request.user, "list.bring_in", taken)
    return taken, *fetch_kind(request, taken.kind)


@require_http_methods(["GET", "POST"])
@once
def list_import_add(request: StudioRequest, key: str) -> HttpResponse:
    saved, brought = fetch_kind(request, key)
    form = ListFileForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        taken = actions.list_take_in(kind=key, by=request.user, **form.cleaned_data["file"])
        return redirect("studio:list_import_columns", taken.pk)
    context = {"key": key, "saved": saved, "columns": brought.columns, "form": form}
    return render(request, "studio/list_import_add.html", context)


@require_http_methods(["GET", "POST"])
def list_import_columns(request: StudioRequest, pk: int) -> HttpResponse:
    taken, saved, brought = fetch_import(request, pk)
    if request.method == "GET" and (taken.is_over or taken.state == ImportState.RUNNING):
        return redirect("studio:list_import_detail", pk)
    form = ColumnsForm(request.POST or None, taken=taken, brought=brought)
    if request.method == "POST" and form.is_valid():
        names = ("places", "decimal", "day_first", "temperature_unit")
        chosen = {name: form.cleaned_data[name] for name in names if name in form.cleaned_data}
        try:
            actions.list_preview(taken=taken, **chosen)
            return redirect("studio:list_import_detail", pk)
        except ValidationError as error:
            form.add_error(None, error)
    context = {"taken": taken, "saved": saved, "form": form}
    return render(request, "studio/list_import_columns.html", context)


@require_GET
@vary_on_headers("HX-Request")
def list_import_detail(request: StudioRequest, pk: int) -> HttpResponse:
    """The preview, how far it is, or how it went: whichever it has come to."""
    taken, saved, brought = fetch_import(request, pk)
    if taken.state == ImportState.READ:
        return redirect("studio:list_import_columns", pk)
    shown = import_page(taken, brought)
    context = {"taken": taken, "saved": saved, "shown": shown}
    part_only = request.htmx and not request.htmx.history_restore_request
    if taken.state == ImportState.RUNNING:  # asked for every second: its rows stay packed
        context["has_stopped"] = actions.has_stopped(taken)
        template = "_list_import_progress" if part_only else "list_import_detail"
        return render(request, f"studio/{template}.html", context)
    if part_only:
        return HttpResponse(headers={"HX-Refresh": "true"})
    fate = request.GET.get("fate", "")
    rows = Paginator(shown.of_fate(fate), ROWS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "studio/list_import_detail.html", context | {"page": rows, "fate": fate})


@require_POST
def list_import_run(request: StudioRequest, pk: int) -> HttpResponse:
    taken, _, _ = fetch_import(request, pk)
    try:
        run_soon(actions.list_begin(taken=taken))
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("studio:list_import_detail", pk)


@require_POST
def list_import_look_again(request: StudioRequest, pk: int) -> HttpResponse:
    taken, _, _ = fetch_import(request, pk)
    try:
        actions.list_look_again(taken=taken)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("studio:list_import_detail", pk)


@require_POST
def list_import_cancel(request: StudioRequest, pk: int) -> HttpResponse:
    taken, _, _ = fetch_import(request, pk)
    try:
        actions.list_cancel(taken=taken)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return redirect("studio:list_import_detail", pk)


@require_GET
def list_import_refused(request: StudioRequest, pk: int) -> StreamingHttpResponse:
    """What was refused, to be put right and brought in by itself."""
    taken, _, brought = fetch_import(request, pk)
    return attached(refused_lines(import_page(taken, brought)), "refused.csv")
