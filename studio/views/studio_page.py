from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from studio import access
from studio.forms.studio_page import StudioForm
from studio.models import Studio
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
def studio_change(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "studio.change")
    form = StudioForm(request.POST or None, instance=Studio.current(), unit=request.user.unit)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "The studio’s page is saved.")
        return redirect("studio:studio_change")
    return render(request, "studio/studio_change.html", {"form": form})
