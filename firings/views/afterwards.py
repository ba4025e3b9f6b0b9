"""Writing down a firing that is over."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from firings.actions.afterwards import firing_note_afterwards
from firings.actions.unknown_firings import unknown_firing_was
from firings.forms.afterwards import AfterwardsForm, KilnForm
from firings.models import UnknownFiring
from firings.queries.afterwards import likely_facts, likely_kiln
from firings.views.answers import put_at_fields
from firings.views.fetch import number_in
from studio import access
from studio.models import Kiln
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def firing_afterwards(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "firing.write")
    asked, revision = (number_in(request.GET.get(name)) for name in ("kiln", "revision"))
    kiln = get_object_or_404(Kiln, pk=asked) if asked else likely_kiln(request.user)
    if kiln is None:
        return render(request, "firings/firing_afterwards.html", {"section": "logbook"})
    data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    likely = likely_facts(kiln, request.user)
    unknown = _found_running(request, kiln)
    if unknown is not None:
        likely["started_at"] = unknown.seen_at
    form = AfterwardsForm(
        data,
        files,
        kiln=kiln,
        writer=request.user,
        unit=request.user.unit,
        also=[revision] if revision else [],
        initial=likely | ({"revision": revision} if revision else {}),
    )
    if form.is_valid():
        return _note(request, kiln, form)
    return _page(request, kiln, form)


@once
def _note(request: StudioRequest, kiln: Kiln, form: AfterwardsForm) -> HttpResponse:
    """Within the receipt's transaction; the photographs were made ready before it began."""
    try:
        firing = firing_note_afterwards(
            kiln=kiln,
            written_by=request.user,
            title=form.cleaned_data["title"],
            piece=form.facts_of_piece(),
            verdict=form.cleaned_data["verdict"],
            pictures=form.cleaned_data["photographs"],
            **form.facts_of_firing(),
        )
    except ValidationError as error:
        put_at_fields(form, error)
        return _page(request, kiln, form)
    unknown = _found_running(request, kiln)
    if unknown is not None:
        unknown_firing_was(unknown=unknown, by=request.user, firing=firing)
    messages.success(request, "Written down. Whatever else there is can be added here.")
    return redirect("firings:firing_detail", firing.pk)


def _found_running(request: StudioRequest, kiln: Kiln) -> UnknownFiring | None:
    """What ?unknown= names, as long as nobody has said what it was."""
    pk = number_in(request.GET.get("unknown"))
    return UnknownFiring.objects.filter(pk=pk, kiln=kiln, closed_at=None).first() if pk else None


def _page(request: StudioRequest, kiln: Kiln, form: AfterwardsForm) -> HttpResponse:
    form.ask_for_pictures_again()
    page = {
        "kiln": kiln,
        "form": form,
        "kiln_form": KilnForm(initial={"kiln": kiln}),
        "section": "logbook",
    }
    part = "_afterwards_form" if request.htmx else "firing_afterwards"
    return render(request, f"firings/{part}.html", page)
