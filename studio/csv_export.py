"""The studio's lists as files that spreadsheets open."""

from collections.abc import Iterable, Iterator
from datetime import tzinfo

from django.http import StreamingHttpResponse
from django.template.loader import render_to_string

from studio.formats import plain
from studio.lists import SavedList
from studio.models import Person
from studio.queries.list_import import ImportPage, ShownRow
from studio.services.csv_cells import csv_lines
from studio.services.lists.fates import REFUSED


def list_lines(saved: SavedList, person: Person, zone: tzinfo) -> Iterator[str]:
    return csv_lines(saved.header, saved.rows(person, zone))


def refused_lines(page: ImportPage) -> Iterator[str]:
    """The rows of a file that were refused, as they stand in it, each with its line and why."""
    table = page.taken.table
    cells = {row.line: row.cells for row in table.rows}

    def why(row: ShownRow) -> str:
        return plain(render_to_string("studio/list_reason.txt", {"row": row}))

    rows = ((*cells[row.line], row.line, why(row)) for row in page.of_fate(REFUSED))
    return csv_lines((*table.headers, "line", "refused because"), rows)


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
