from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from studio import access
from studio.queries.trail import trail_lines, trail_pages
from studio.requests import StudioRequest
from studio.trails import trail_kind

LINES_IN_A_FOLD = 20
LINES_A_PAGE = 50


@require_GET
@vary_on_headers("HX-Request")
def trail_detail(request: StudioRequest, kind: str, pk: int) -> HttpResponse:
    """Who changed what and when: the fold on the thing's page, or a page of its own."""
    trail = trail_kind(kind)
    if trail is None:
        raise Http404
    thing = get_object_or_404(trail.model, pk=pk)
    access.require(request.user, trail.act, thing)
    if trail.is_kept_from(request.user, thing):
        raise PermissionDenied
    in_fold = bool(getattr(request, "htmx", False))
    pages = trail_pages(trail, thing, request.user, LINES_IN_A_FOLD if in_fold else LINES_A_PAGE)
    page = pages.get_page(None if in_fold else request.GET.get("page"))
    context = {
        "section": trail.section,
        "kind": kind,
        "back": reverse(trail.page, args=[pk] if trail.numbered else []),
        "thing": thing,
        "page": page,
        "lines": trail_lines(trail, thing, request.user, page.object_list),
    }
    template = "studio/_trail_lines.html" if in_fold else "studio/trail_detail.html"
    return render(request, template, context)
