import zoneinfo
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
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
