"""What a firing cost, and what members are charged for a month."""

from datetime import date

from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from firings.queries.costs import costs_of, firings_for_costs
from firings.queries.statements import (
    member_month,
    members_month,
    members_of,
    months_beside,
    statement_of_all,
)
from firings.statement_export import members_lines, statement_lines
from firings.views.fetch import firing_to
from studio import access
from studio.csv_export import attached
from studio.days import month_of
from studio.models import Person, TeachingClass
from studio.requests import StudioRequest


def _month(request: StudioRequest) -> date:
    """Of ?month=2026-11; this month without one."""
    asked = request.GET.get("month")
    if not asked:
        return month_of(timezone.localdate())
    try:
        return date.fromisoformat(f"{asked}-01")
    except ValueError:
        raise Http404 from None


@require_GET
def firing_cost(request: StudioRequest, pk: int) -> HttpResponse:
    firing = firing_to(request.user, "cost.see", pk)
    (costs,) = costs_of(firings_for_costs().filter(pk=pk))
    page = {"firing": firing, "costs": costs, "section": "logbook"}
    return render(request, "firings/firing_cost.html", page)


def _person(request: StudioRequest, pk: int) -> Person:
    person = get_object_or_404(Person, pk=pk)
    access.require(request.user, "statement.see", person)
    return person


@require_GET
def person_statement(request: StudioRequest, pk: int) -> HttpResponse:
    month = member_month(_person(request, pk), _month(request))
    page = {"month": month, "beside": months_beside(month.first_day), "section": "people"}
    return render(request, "firings/person_statement.html", page)


@require_GET
def person_statement_csv(request: StudioRequest, pk: int) -> StreamingHttpResponse:
    month = member_month(_person(request, pk), _month(request))
    return attached(list(statement_lines(month)), f"statement-{pk}-{month.first_day:%Y-%m}.csv")


def _class(request: StudioRequest, pk: int | None) -> TeachingClass | None:
    """The class whose students are asked for; None is everybody, for keepers."""
    if pk is None:
        access.require(request.user, "statement.see_all")
        return None
    teaching_class = get_object_or_404(TeachingClass, pk=pk)
    access.require(request.user, "class.change", teaching_class)
    return teaching_class


@require_GET
def statement_list(request: StudioRequest, pk: int | None = None) -> HttpResponse:
    teaching_class, first_day = _class(request, pk), _month(request)
    members = members_month(list(members_of(teaching_class)), first_day)
    page = {
        "teaching_class": teaching_class,
        "first_day": first_day,
        "members": members,
        "all": statement_of_all(members),
        "beside": months_beside(first_day),
        "section": "people",
    }
    return render(request, "firings/statement_list.html", page)


@require_GET
def statement_list_csv(request: StudioRequest, pk: int | None = None) -> StreamingHttpResponse:
    teaching_class, first_day = _class(request, pk), _month(request)
    members = members_month(list(members_of(teaching_class)), first_day)
    return attached(list(members_lines(members)), f"statements-{first_day:%Y-%m}.csv")
