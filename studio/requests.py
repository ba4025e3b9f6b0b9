from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from studio.models import Person, Studio


class StudioRequest(HttpRequest):
    """A request as the views behind the sign-in see it, with what the middleware adds."""

    user: Person
    studio: Studio
    htmx: HtmxDetails
