from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from studio import access
from studio.actions.safety import safety_lines_set
from studio.forms.safety import SafetyLinesForm
from studio.models import SafetyLine
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
def safety_lines(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "studio.change")
    form = SafetyLinesForm(
        request.POST if request.method == "POST" else None,
        initial={"lines": "\n".join(SafetyLine.current())},
    )
    if form.is_valid():
        safety_lines_set(texts=form.texts())
        messages.success(request, "The list is saved.")
        return redirect("studio:safety_lines")
    return render(request, "studio/safety_lines.html", {"form": form})
