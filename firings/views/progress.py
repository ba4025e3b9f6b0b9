"""How students come on, one by one and as a class, and a portfolio to print."""

from django.core.paginator import Paginator
from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from firings.progress_charts import marks_drawing, progress_drawing
from firings.progress_export import class_lines, progress_lines
from firings.queries import progress as queries
from firings.queries.class_progress import class_pieces
from firings.queries.class_progress import class_progress as progress_of_class
from firings.queries.portfolio import portfolio_of
from firings.views.fetch import number_in
from studio import access
from studio.csv_export import attached
from studio.models import Person, TeachingClass
from studio.requests import StudioRequest

PIECES_A_PAGE = 25


def _person(request: StudioRequest, pk: int) -> Person:
    person = get_object_or_404(Person, pk=pk)
    access.require(request.user, "person.see_progress", person)
    return person


def _class(request: StudioRequest, pk: int) -> TeachingClass:
    teaching_class = get_object_or_404(TeachingClass, pk=pk)
    access.require(request.user, "class.change", teaching_class)
    return teaching_class


@require_GET
def person_progress(request: StudioRequest, pk: int) -> HttpResponse:
    progress = queries.progress_of(_person(request, pk))
    context = {
        "progress": progress,
        "person": progress.person,
        "drawing": progress_drawing(progress.in_order),
        "marks_drawing": marks_drawing(progress.marks),
        "page": Paginator(progress.pieces, PIECES_A_PAGE).get_page(request.GET.get("page")),
        "section": "people",
    }
    return render(request, "firings/person_progress.html", context)


@require_GET
def person_progress_csv(request: StudioRequest, pk: int) -> StreamingHttpResponse:
    pieces = queries.pieces_of(_person(request, pk))
    return attached(list(progress_lines(pieces, request.user)), f"progress-{pk}.csv")


@require_GET
def person_portfolio(request: StudioRequest, pk: int) -> HttpResponse:
    """To be printed: the pieces that the address names, or all that have a photograph."""
    person = _person(request, pk)
    numbers = [number for each in request.GET.getlist("piece") if (number := number_in(each))]
    pieces = portfolio_of(person, request.user, numbers)
    context = {
        "person": person,
        "pieces": pieces,
        "has_shown": any(each.is_shown for each in pieces),
        "chosen": numbers,
        "with_marks": "marks" in request.GET,
        "section": "people",
    }
    return render(request, "firings/person_portfolio.html", context)


@require_GET
def class_progress(request: StudioRequest, pk: int) -> HttpResponse:
    progress = progress_of_class(_class(request, pk), request.user)
    context = {
        "progress": progress,
        "teaching_class": progress.teaching_class,
        "section": "people",
    }
    return render(request, "firings/class_progress.html", context)


@require_GET
def class_progress_csv(request: StudioRequest, pk: int) -> StreamingHttpResponse:
    progress = progress_of_class(_class(request, pk), request.user)
    return attached(list(class_lines(progress)), f"class-{pk}.csv")


@require_GET
def class_pieces_csv(request: StudioRequest, pk: int) -> StreamingHttpResponse:
    pieces = class_pieces(_class(request, pk), request.user)
    return attached(list(progress_lines(pieces, request.user)), f"class-{pk}-pieces.csv")
