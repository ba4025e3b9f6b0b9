from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from studio.models import Person, SharedDevice, Studio


class StudioRequest(HttpRequest):
    """A request as the views behind the sign-in see it, with what the middleware adds."""

    user: Person
    studio: Studio
    htmx: HtmxDetails
    device: SharedDevice | None


def visitor_address(request: HttpRequest) -> str:
    """Where a request comes from, by which wrong passwords are counted.

    Each of the `settings.PROXIES` proxies in front adds to X-Forwarded-For whom it heard; what
    stands before those was sent along by the visitor, and may be invented.
    """
    heard: str = request.META.get("REMOTE_ADDR", "")
    if settings.PROXIES:
        told = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")
        heard = told[-settings.PROXIES].strip() if len(told) >= settings.PROXIES else heard
    try:
        return str(ip_address(heard))
    except ValueError:  # a socket in the file system has no address
        return str(request.META.get("REMOTE_ADDR", ""))
