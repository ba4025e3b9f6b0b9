"""Answers with a picture that is kept."""

from django.db.models.fields.files import FieldFile
from django.http import FileResponse, Http404, HttpResponseBase

YEAR_S = 365 * 24 * 3600


def picture_file(file: FieldFile | None) -> HttpResponseBase:
    """A kept picture, or 404."""
    try:
        opened = file.open("rb") if file else None
    except FileNotFoundError:
        opened = None
    if opened is None:
        raise Http404
    return FileResponse(
        opened,
        content_type="image/jpeg",
        headers={
            "Cache-Control": f"private, max-age={YEAR_S}, immutable",
            "X-Content-Type-Options": "nosniff",
        },
    )
