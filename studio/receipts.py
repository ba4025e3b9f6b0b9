import functools
import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any, cast

from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.utils import timezone

from studio.models import FormReceipt

KEPT_FOR = timedelta(days=30)
"""However long a page lies open in a browser, a form of it that comes later counts as a new one."""


class _NotTakenError(Exception):
    def __init__(self, response: HttpResponse) -> None:
        self.response = response


def once(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Take each form once: the same form sent again leads to what its first sending made.

    A form carries `{% form_key %}`, a fresh UUID a page. The receipt and what the view writes stand
    in one transaction; an answer that is no redirect (the form came back with errors) leaves none.
    """

    @functools.wraps(view)
    def taken_once(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        key = _form_key(request)
        if key is None:
            return view(request, *args, **kwargs)
        person_id = cast(int, request.user.pk)
        if made := FormReceipt.objects.filter(key=key, person_id=person_id).first():
            return redirect(made.location)
        try:
            with transaction.atomic():
                receipt = FormReceipt.objects.create(key=key, person_id=person_id)
                response = view(request, *args, **kwargs)
                location = response.headers.get("HX-Redirect") or response.headers.get("Location")
                if location is None:
                    raise _NotTakenError(response)
                receipt.location = location
                receipt.save(update_fields=["location"])
                return response
        except _NotTakenError as not_taken:
            return not_taken.response
        except IntegrityError:
            made = FormReceipt.objects.filter(key=key, person_id=person_id).first()
            if made is None:
                raise
            return HttpResponseRedirect(made.location)

    return taken_once


def forget_old() -> None:
    FormReceipt.objects.filter(taken_at__lt=timezone.now() - KEPT_FOR).delete()


def _form_key(request: HttpRequest) -> uuid.UUID | None:
    if request.method != "POST" or not request.user.is_authenticated:
        return None
    try:
        return uuid.UUID(request.POST.get("form_key", ""))
    except ValueError:
        return None
