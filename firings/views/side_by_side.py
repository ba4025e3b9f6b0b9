from django.http import HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.views.decorators.http import require_GET

from firings.forms.side_by_side import SideBySideForm
from firings.queries.side_by_side import firings_to_choose
from firings.queries.side_by_side import side_by_side as lay
from firings.side_by_side_export import side_by_side_lines
from studio import access
from studio.requests import StudioRequest


@require_GET
def side_by_side(request: StudioRequest) -> HttpResponse:
    """The firings that the address names; with too few, too many or unknown ones, the choice."""
    access.require(request.user, "firing.see")
    form = SideBySideForm(request.GET)
    chosen, others = firings_to_choose(form.to_show, request.user)
    context = {"section": "logbook", "form": form, "chosen": chosen, "others": others}
    if form.is_valid():
        context["page"] = lay(
            form.cleaned_data["firing"],
            aligned=form.cleaned_data["aligned"],
            reader=request.user,
        )
    return render(request, "firings/side_by_side.html", context)


@require_GET
def side_by_side_csv(request: StudioRequest) -> HttpResponse:
    """All the figures, a line a figure, a column a firing."""
    access.require(request.user, "firing.see")
    form = SideBySideForm(request.GET)
    if not form.is_valid():
        told = " ".join(map(str, form.errors["firing"]))
        return HttpResponseBadRequest(told, content_type="text/plain; charset=utf-8")
    page = lay(form.cleaned_data["firing"], aligned="top", reader=request.user)
    return HttpResponse(
        "".join(side_by_side_lines(page, unit=request.user.unit)),
        content_type="text/csv; charset=utf-8",
        headers={
            "Content-Disposition": 'attachment; filename="side-by-side.csv"',
            "X-Content-Type-Options": "nosniff",
        },
    )
