"""How views of a firing answer when somebody was quicker, or a rule says no."""

from django import forms
from django.contrib import messages
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect


def told_at_firing(request: HttpRequest, firing_pk: int, error: ValidationError) -> HttpResponse:
    """Back to the firing, with a calm word why nothing was done."""
    messages.warning(request, " ".join(error.messages))
    return redirect("firings:firing_detail", firing_pk)


def put_at_fields(form: forms.BaseForm, error: ValidationError) -> None:
    """An action's error, at the fields that this form has; the rest above the form."""
    if not hasattr(error, "error_dict"):
        form.add_error(None, error)
        return
    for name, errors in error.error_dict.items():
        form.add_error(name if name in form.fields and name != NON_FIELD_ERRORS else None, errors)


def is_from_live_page(request: HttpRequest) -> bool:
    return request.POST.get("back") == "now"


def back_to_firing(request: HttpRequest, firing_pk: int) -> HttpResponse:
    """To the page from which it was noted: the live one or the record."""
    page = "firing_now" if is_from_live_page(request) else "firing_detail"
    return redirect(f"firings:{page}", firing_pk)
