"""The lists of this app that people save as a file and bring in; read by `studio.lists`."""

from collections.abc import Iterator, Sequence
from datetime import tzinfo
from typing import Any

from firings.actions.past import BroughtFirings
from firings.csv_export import logbook_header, logbook_values
from firings.queries.logbook import firings_for_logbook, logbook_row
from studio.lists import SavedList, list_brought, list_saved
from studio.models import Person

AT_ONCE = 500


def firing_rows(person: Person, zone: tzinfo) -> Iterator[Sequence[Any]]:
    """All firings with what this person sees of their loads, as the logbook saves them, in °C."""
    for firing in firings_for_logbook(person).iterator(chunk_size=AT_ONCE):
        yield logbook_values(logbook_row(firing, person), "C", zone)


list_saved(
    "firings",
    SavedList("Firings", "firing.see", "firings:logbook", logbook_header("C"), firing_rows),
)
list_brought("firings", BroughtFirings())
