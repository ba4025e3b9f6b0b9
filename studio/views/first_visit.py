from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods

from studio.actions.first_visit import keeper_make
from studio.forms.first_visit import FirstVisitForm
from studio.models import GlassKind, Invitation, Kiln, Person
from studio.requests import StudioRequest
from studio.views.people import BACKEND


@login_not_required
@never_cache
@sensitive_post_parameters("code", "password1", "password2")
@require_http_methods(["GET", "POST"])
def first_visit(request: HttpRequest) -> HttpResponse:
    """Open only while the studio has no account at all."""
    if Person.objects.exists():
        return redirect("studio:sign_in")
    form = FirstVisitForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            keeper = keeper_make(**form.of_person(), **form.of_studio())
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            login(request, keeper, backend=BACKEND)
            return redirect("studio:first_steps")
    return render(request, "studio/first_visit.html", {"form": form})


@require_GET
def first_steps(request: StudioRequest) -> HttpResponse:
    context = {
        "has_kiln": Kiln.objects.exists(),
        "has_glass": GlassKind.objects.exists(),
        "has_company": Invitation.objects.exists() or Person.objects.count() > 1,
    }
    return render(request, "studio/first_steps.html", context)
