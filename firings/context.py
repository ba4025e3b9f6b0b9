from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from firings.queries.watching import open_alarms


def runaways(request: HttpRequest) -> dict[str, Any]:
    """The alarms that nobody answered yet, for every page; asked for only where one is drawn."""
    person = getattr(request, "user", None)  # an answer made before anybody was known has none
    if person is None or not person.is_authenticated:
        return {}
    return {"runaways": SimpleLazyObject(lambda: list(open_alarms()))}
