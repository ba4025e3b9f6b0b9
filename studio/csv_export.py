"""The studio's lists as files that spreadsheets open."""

from collections.abc import Iterable, Iterator
from datetime import tzinfo

from django.http import StreamingHttpResponse

from studio.lists import SavedList
from studio.models import Person
from studio.services.csv_cells import csv_lines


def list_lines(saved: SavedList, person: Person, zone: tzinfo) -> Iterator[str]:
    return csv_lines(saved.header, saved.rows(person, zone))


def attached(lines: Iterable[str], name: str) -> StreamingHttpResponse:
    """An answer that a browser saves under a name."""
    return StreamingHttpResponse(
        lines,
        content_type="text/csv; charset=utf-8",
        headers={
            "Content-Disposition": f'attachment; filename="{name}"',
            "X-Content-Type-Options": "nosniff",
            "Cache-Control": "private, no-store",
        },
    )
