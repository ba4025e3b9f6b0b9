from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from schedules.actions.class_schedules import class_schedules_choose
from schedules.forms.class_schedules import ClassSchedulesForm
from studio import access
from studio.models import TeachingClass
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
def class_schedules(request: StudioRequest, pk: int) -> HttpResponse:
    """The schedules that a class may fire."""
    teaching_class = get_object_or_404(TeachingClass, pk=pk)
    access.require(request.user, "class.change", teaching_class)
    data = request.POST if request.method == "POST" else None
    form = ClassSchedulesForm(data, teaching_class=teaching_class)
    if form.is_valid():
        chosen = form.cleaned_data["schedules"]
        class_schedules_choose(teaching_class=teaching_class, schedules=chosen)
        messages.success(request, "Saved.")
        return redirect("studio:class_detail", pk)
    page = {"form": form, "teaching_class": teaching_class, "section": "people"}
    return render(request, "schedules/class_schedules.html", page)
