from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from studio.actions import short_codes as actions
from studio.forms.shared_devices import ShortCodeForm
from studio.models import ShortCode
from studio.requests import StudioRequest
from studio.views.people import fetch_person


@sensitive_post_parameters("password", "code", "again")
@require_http_methods(["GET", "POST"])
def short_code(request: StudioRequest) -> HttpResponse:
    """One's own: set it, or set another."""
    form = ShortCodeForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            actions.short_code_set(person=request.user, code=form.cleaned_data["code"])
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, "Your short code is set.")
            return redirect("studio:account")
    kept = ShortCode.objects.filter(person=request.user).first()
    return render(request, "studio/short_code.html", {"form": form, "kept": kept})


@require_POST
def short_code_locks_known(request: StudioRequest) -> HttpResponse:
    actions.locks_known(person=request.user)
    return redirect("firings:today")


@require_POST
def short_code_take_away(request: StudioRequest, pk: int) -> HttpResponse:
    """One's own, or by the keeper anybody's; nobody reads it."""
    person = fetch_person(request, pk, "short_code.take_away")
    actions.short_code_take_away(person=person)
    if person == request.user:
        messages.success(request, "You have no short code any more.")
        return redirect("studio:account")
    messages.success(request, f"{person.name} has no short code any more.")
    return redirect("studio:person_detail", pk)
