from collections.abc import Iterator
from typing import ClassVar, NamedTuple

from django import forms


class Group(NamedTuple):
    legend: str
    note: str
    fields: list[forms.BoundField]


class GroupedForm(forms.BaseForm):
    """Mixin: a long form in named groups, drawn by `parts/grouped_form.html`."""

    GROUPS: ClassVar[list[tuple[str, str, list[str]]]] = []

    def groups(self) -> Iterator[Group]:
        for legend, note, names in self.GROUPS:
            yield Group(legend, note, [self[name] for name in names])
