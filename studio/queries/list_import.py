"""A list that is brought in, as its pages show it."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet
from django.utils.functional import cached_property

from studio.formats import NO_BREAK
from studio.list_progress import Progress, progress_of, stop_is_asked
from studio.lists import BroughtList
from studio.models import ImportState, ListImport, Person
from studio.models.list_import import unpacked
from studio.services.lists.table import Table

EXAMPLES = 3
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:mm|g|m|min|h|[A-Z]{3})\b|× \d|°[CF])|(?<=×) (?=\d)")
LONGEST_EXAMPLE = 24


def examples_of(table: Table) -> list[list[str]]:
    """Of each column a few of the first cells that differ and hold something."""
    found: list[list[str]] = [[] for _ in table.headers]
    for row in table.rows[:50]:
        for examples, cell in zip(found, row.cells, strict=True):
            short = cell if len(cell) <= LONGEST_EXAMPLE else f"{cell[: LONGEST_EXAMPLE - 1]}…"
            if cell and short not in examples and len(examples) < EXAMPLES:
                examples.append(short)
    return found


@dataclass(frozen=True)
class ShownChange:
    column: str
    before: str
    after: str


@dataclass(frozen=True)
class ShownRow:
    """A row of the file with its fate; `code` and `figures` tell why it is refused, by the words
    of the template `words`."""

    line: int
    fate: str
    says: str
    code: str
    column: str
    figures: Mapping[str, str]
    changes: Sequence[ShownChange]
    words: str


@dataclass(frozen=True)
class ImportPage:
    taken: ListImport
    columns: Mapping[str, str]
    reasons: str

    @cached_property
    def rows(self) -> list[ShownRow]:
        """Refused ones first."""
        kept = unpacked(self.taken.judged) if self.taken.judged else []
        return [self._row(*each) for each in kept]

    def of_fate(self, fate: str) -> list[ShownRow]:
        return [row for row in self.rows if row.fate == fate] if fate else self.rows

    @property
    def progress(self) -> Progress:
        return progress_of(self.taken.pk) or Progress(0, max(self.taken.rows, 1), 0.0)

    @property
    def is_stopping(self) -> bool:
        return stop_is_asked(self.taken.pk)

    @cached_property
    def brought_before(self) -> ListImport | None:
        """The newest list of the same file, word for word, that was brought in."""
        return (
            ListImport.objects.filter(
                kind=self.taken.kind, digest=self.taken.digest, state=ImportState.DONE
            )
            .exclude(pk=self.taken.pk)
            .select_related("by")
            .defer("packed", "judged")
            .first()
        )

    def _row(
        self, line: int, fate: str, says: str, reason: dict[str, Any] | None, changes: list[Any]
    ) -> ShownRow:
        reason = reason or {"code": "", "column": "", "figures": {}}
        column = self.columns.get(reason["column"], reason["column"])
        shown = [
            ShownChange(self.columns.get(each["column"], each["column"]), *_both(each))
            for each in changes
        ]
        return ShownRow(
            line,
            fate,
            _joined(says),
            reason["code"],
            column,
            {name: _joined(figure) for name, figure in reason["figures"].items()},
            shown,
            self.reasons,
        )


def _both(change: Mapping[str, str]) -> tuple[str, str]:
    return _joined(change["before"]), _joined(change["after"])


def _joined(text: str) -> str:
    """A number and its unit don't part at the end of a line."""
    return _BEFORE_UNIT.sub(NO_BREAK, text)


def import_page(taken: ListImport, brought: BroughtList) -> ImportPage:
    columns = {column.name: column.words for column in brought.columns}
    return ImportPage(taken, columns, brought.reasons)


def imports_of(person: Person) -> QuerySet[ListImport]:
    return ListImport.objects.filter(by=person).defer("packed", "judged")
