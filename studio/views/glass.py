from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers

from studio import access
from studio.forms.glass import FamilyForm, KindForm
from studio.models import GlassFamily, GlassKind
from studio.queries.glass import GlassFilter, families_on_record, kinds_on_record, points_of
from studio.queries.stock import on_the_shelf
from studio.receipts import once
from studio.requests import StudioRequest

ROWS_A_PAGE = 50


def fetch_kind(request: StudioRequest, pk: int, act: str = "glass.see") -> GlassKind:
    kind = get_object_or_404(GlassKind.objects.select_related("family"), pk=pk)
    access.require(request.user, act, kind)
    return kind


def fetch_family(request: StudioRequest, pk: int) -> GlassFamily:
    family = get_object_or_404(GlassFamily, pk=pk)
    access.require(request.user, "glass.change", family)
    return family


@require_GET
@vary_on_headers("HX-Request")
def glass_list(request: StudioRequest) -> HttpResponse:
    found = GlassFilter(request.GET, kinds_on_record())
    page = Paginator(found.qs, ROWS_A_PAGE).get_page(request.GET.get("page"))
    rows_only = request.htmx and not request.htmx.history_restore_request
    template = "studio/_glass_rows.html" if rows_only else "studio/glass_list.html"
    context = {"section": "glass", "form": found.form, "page": page}
    return render(request, template, context)


@require_GET
def glass_detail(request: StudioRequest, pk: int) -> HttpResponse:
    kind = fetch_kind(request, pk)
    context = {
        "section": "glass",
        "kind": kind,
        "points": points_of(kind),
        "shelf": on_the_shelf(kind),
    }
    return render(request, "studio/glass_detail.html", context)


@require_http_methods(["GET", "POST"])
@once
def glass_add(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "glass.change")
    family = request.GET.get("family", "")
    initial = {"family": family} if family.isdecimal() else {}
    form = KindForm(request.POST or None, unit=request.user.unit, initial=initial)
    if request.method == "POST" and form.is_valid():
        kind = form.save()
        messages.success(request, f"{kind} is on record.")
        return redirect("studio:glass_detail", kind.pk)
    return render(request, "studio/glass_add.html", {"section": "glass", "form": form})


@require_http_methods(["GET", "POST"])
def glass_change(request: StudioRequest, pk: int) -> HttpResponse:
    kind = fetch_kind(request, pk, "glass.change")
    form = KindForm(request.POST or None, instance=kind, unit=request.user.unit)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"{kind} is saved.")
        return redirect("studio:glass_detail", pk)
    context = {"section": "glass", "form": form, "kind": fetch_kind(request, pk)}
    return render(request, "studio/glass_change.html", context)


@require_POST
def glass_archive(request: StudioRequest, pk: int) -> HttpResponse:
    """Out of the lists to choose from; what was made with it stays as it is."""
    kind = fetch_kind(request, pk, "glass.change")
    kind.archived_at = kind.archived_at or timezone.now()
    kind.save(update_fields=["archived_at"])
    messages.success(request, f"{kind} is archived.")
    return redirect("studio:glass_detail", pk)


@require_POST
def glass_unarchive(request: StudioRequest, pk: int) -> HttpResponse:
    kind = fetch_kind(request, pk, "glass.change")
    kind.archived_at = None
    kind.save(update_fields=["archived_at"])
    messages.success(request, f"{kind} can be chosen again.")
    return redirect("studio:glass_detail", pk)


@require_GET
def family_list(request: StudioRequest) -> HttpResponse:
    page = Paginator(families_on_record(), ROWS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "studio/family_list.html", {"section": "glass", "page": page})


@require_http_methods(["GET", "POST"])
@once
def family_add(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "glass.change")
    form = FamilyForm(request.POST or None, unit=request.user.unit)
    if request.method == "POST" and form.is_valid():
        family = form.save()
        messages.success(request, f"{family} is on record.")
        return redirect("studio:family_list")
    return render(request, "studio/family_add.html", {"section": "glass", "form": form})


@require_http_methods(["GET", "POST"])
def family_change(request: StudioRequest, pk: int) -> HttpResponse:
    family = fetch_family(request, pk)
    form = FamilyForm(request.POST or None, instance=family, unit=request.user.unit)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"{family} is saved.")
        return redirect("studio:family_list")
    context = {"section": "glass", "form": form, "family": GlassFamily.objects.get(pk=pk)}
    return render(request, "studio/family_change.html", context)
