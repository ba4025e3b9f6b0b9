from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from studio import access
from studio.actions.kilns import kiln_add as add
from studio.actions.kilns import places_arrange
from studio.forms.kilns import KilnForm
from studio.forms.places import PlaceFormSet
from studio.forms.service import ServiceEntryForm
from studio.models import Kiln
from studio.queries.kilns import kiln_remarks, kilns_with_services, latest_services
from studio.queries.places import shelf_drawing
from studio.receipts import once
from studio.requests import StudioRequest

KILNS_A_PAGE = 24
ENTRIES_SHOWN = 10


def fetch_kiln(request: StudioRequest, pk: int, act: str = "kiln.see") -> Kiln:
    kiln = get_object_or_404(Kiln, pk=pk)
    access.require(request.user, act, kiln)
    return kiln


@require_GET
def kiln_list(request: StudioRequest) -> HttpResponse:
    page = Paginator(kilns_with_services(), KILNS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "studio/kiln_list.html", {"section": "kilns", "page": page})


@require_GET
def kiln_detail(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = fetch_kiln(request, pk)
    places = list(kiln.places.all())
    context = {
        "section": "kilns",
        "kiln": kiln,
        "places": places,
        "shelf": shelf_drawing(kiln, places),
        "remarks": kiln_remarks(kiln),
        "latest": latest_services(kiln),
        "entries": kiln.service_entries.select_related("written_by")[:ENTRIES_SHOWN],
        "entry_form": ServiceEntryForm(),
    }
    return render(request, "studio/kiln_detail.html", context)


@require_http_methods(["GET", "POST"])
@once
def kiln_add(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "kiln.change")
    form = KilnForm(request.POST or None, unit=request.user.unit)
    if request.method == "POST" and form.is_valid():
        kiln = add(kiln=form.save(commit=False))
        messages.success(request, f"{kiln.name} is in the logbook, with nine places on its shelf.")
        return redirect("studio:kiln_detail", kiln.pk)
    return render(request, "studio/kiln_add.html", {"section": "kilns", "form": form})


@require_http_methods(["GET", "POST"])
def kiln_change(request: StudioRequest, pk: int) -> HttpResponse:
    kiln = fetch_kiln(request, pk, "kiln.change")
    form = KilnForm(request.POST or None, instance=kiln, unit=request.user.unit)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"{kiln.name} is saved.")
        return redirect("studio:kiln_detail", pk)
    context = {"section": "kilns", "form": form, "kiln": Kiln.objects.get(pk=pk)}
    return render(request, "studio/kiln_change.html", context)


@require_http_methods(["GET", "POST"])
@once
def place_list_change(request: StudioRequest, pk: int) -> HttpResponse:
    """The places of a kiln's shelf; each saving leads back here, with room for one more."""
    kiln = fetch_kiln(request, pk, "kiln.change")
    forms = PlaceFormSet(request.POST or None, kiln=kiln)
    if request.method == "POST" and forms.is_valid():
        try:
            places_arrange(
                kiln=kiln,
                kept=[form.instance for form in forms.kept_forms()],
                removed=[form.instance for form in forms.deleted_forms if form.instance.pk],
                reference=forms.reference(),
            )
        except ValidationError as error:
            messages.error(request, error.messages[0])
        else:
            messages.success(request, "The shelf is saved.")
        return redirect("studio:place_list_change", pk)
    shelf = shelf_drawing(kiln, list(kiln.places.all()))
    context = {"section": "kilns", "kiln": kiln, "forms": forms, "shelf": shelf}
    return render(request, "studio/place_list_change.html", context)
