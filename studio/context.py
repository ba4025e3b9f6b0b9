from typing import Any
from uuid import uuid4

from django.http import HttpRequest

from studio import access


def studio(request: HttpRequest) -> dict[str, Any]:
    """What every page needs: the studio, a fresh key for its forms, and the reader's rights."""
    person = getattr(request, "user", None)
    return {
        "studio": getattr(request, "studio", None),
        "form_key": uuid4(),
        "may": access.Rights(person) if person is not None and person.is_authenticated else None,
    }
