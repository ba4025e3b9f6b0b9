"""What a device kept while it had no network is sent by its script, and answered in few words."""

import functools
from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

View = Callable[..., HttpResponse]


def told_to_device(view: View) -> View:
    """201 for what was taken, 422 and the page, which says why, for what was not.

    The script adds `noted_by`, the person who was signed in when it was noted: under the name of
    anybody else it is not taken (409), and stays where it is kept.
    """

    @functools.wraps(view)
    def answered(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        noted_by = request.POST.get("noted_by") if request.method == "POST" else None
        if noted_by is None:
            return view(request, *args, **kwargs)
        if noted_by != str(request.user.pk):
            return HttpResponse(status=HTTPStatus.CONFLICT)
        response = view(request, *args, **kwargs)
        if isinstance(response, HttpResponseRedirect):
            for _ in messages.get_messages(request):
                pass  # the script tells it; on a later page it would be told again
            return HttpResponse(status=HTTPStatus.CREATED, headers={"Location": response.url})
        if response.status_code == HTTPStatus.OK:
            response.status_code = HTTPStatus.UNPROCESSABLE_ENTITY
        return response

    return answered
