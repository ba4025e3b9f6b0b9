from typing import Any
from uuid import uuid4

from django.http import HttpRequest


def studio(request: HttpRequest) -> dict[str, Any]:
    """What every page needs: the studio and a fresh key for its forms."""
    return {"studio": getattr(request, "studio", None), "form_key": uuid4()}
