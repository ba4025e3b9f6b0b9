"""The rubric of a class, and the one with which classes begin."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from studio import access
from studio.actions.rubric import rubric_write
from studio.forms.rubric import RubricForm
from studio.models import TeachingClass
from studio.queries.rubric import rubric_of
from studio.requests import StudioRequest
from studio.views.classes import fetch_class


@require_http_methods(["GET", "POST"])
def studio_rubric(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "studio.change")
    return _rubric(request, None, "studio:studio_rubric")


@require_http_methods(["GET", "POST"])
def class_rubric(request: StudioRequest, pk: int) -> HttpResponse:
    return _rubric(request, fetch_class(request, pk, "class.change"), "studio:class_detail", pk)


def _rubric(
    request: StudioRequest, teaching_class: TeachingClass | None, back: str, *arguments: int
) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    form = RubricForm(data, criteria=rubric_of(teaching_class))
    if form.is_valid():
        rubric_write(teaching_class=teaching_class, lines=form.lines())
        messages.success(request, "The rubric is saved. Marks that were given stay.")
        return redirect(back, *arguments)
    page = {"form": form, "teaching_class": teaching_class, "section": "people"}
    return render(request, "studio/rubric.html", page)
