import zoneinfo
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import render
from django.utils import timezone

from studio.models import Studio


def studio_time_zone(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Times are stored in UTC and shown in the studio's zone."""

    def with_studio(request: HttpRequest) -> HttpResponse:
        request.studio = Studio.current()  # type: ignore[attr-defined]
        with timezone.override(zoneinfo.ZoneInfo(request.studio.time_zone)):  # type: ignore[attr-defined]
            return get_response(request)

    return with_studio


def wrong_method_page(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Django answers a wrong method with nothing at all; whoever signs in again after a form was
    refused is led to just such an address."""

    def with_words(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if isinstance(response, HttpResponseNotAllowed) and not response.content:
            page = render(request, "405.html", status=405)
            page["Allow"] = response["Allow"]
            return page
        return response

    return with_words
