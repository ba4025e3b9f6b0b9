"""The studio's lists, to be saved as files."""

from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from studio import access, lists
from studio.csv_export import attached, list_lines
from studio.queries.list_import import imports_of
from studio.requests import StudioRequest

IMPORTS_A_PAGE = 20


@require_GET
def list_index(request: StudioRequest) -> HttpResponse:
    """Every list that this person may save or bring in, and what they brought in."""
    shown = {
        key: saved
        for key, saved in lists.saved_lists().items()
        if access.may(request.user, saved.act)
    }
    may_bring = access.may(request.user, "list.bring_in")
    brought = {
        key: lists.saved_list(key)
        for key, each in lists.brought_lists().items()
        if may_bring and access.may(request.user, each.act)
    }
    page = Paginator(imports_of(request.user), IMPORTS_A_PAGE).get_page(request.GET.get("page"))
    context = {"lists": shown, "brought": brought, "page": page}
    return render(request, "studio/list_index.html", context)


@require_GET
def list_csv(request: StudioRequest, key: str) -> StreamingHttpResponse:
    """Line by line, as it is read."""
    saved = lists.saved_list(key)
    if saved is None:
        raise Http404
    access.require(request.user, saved.act)
    # The lines are written after the request is over, and with it the studio's zone.
    lines = list_lines(saved, request.user, timezone.get_current_timezone())
    return attached(lines, f"{key}.csv")
