"""Choices with headings, and who and what may be chosen in the forms of a firing."""

import itertools
from collections.abc import Callable, Iterator
from typing import Any

from django import forms
from django.db.models import Model, Q, QuerySet
from django.forms.models import ModelChoiceIterator

from firings.models import Piece
from firings.queries.visible import visible_pieces
from schedules.models import Revision
from studio import access
from studio.access import AT_DEVICE
from studio.models import GlassKind, Person


class _UnderHeadings(ModelChoiceIterator):
    field: "HeadedChoiceField | HeadedChoicesField"

    def __iter__(self) -> Iterator[Any]:
        if self.field.empty_label is not None:
            yield "", self.field.empty_label
        for heading, rows in itertools.groupby(self.queryset, self.field.heading_of):
            yield heading, [self.choice(row) for row in rows]


class HeadedChoiceField(forms.ModelChoiceField):
    """A choice of rows under headings; the rows come sorted by their heading."""

    iterator = _UnderHeadings

    def __init__(
        self,
        queryset: QuerySet[Any],
        *,
        heading_of: Callable[[Any], str],
        name_of: Callable[[Any], str] = str,
        **kwargs: Any,
    ) -> None:
        self.heading_of, self.name_of = heading_of, name_of
        super().__init__(queryset, **kwargs)

    def label_from_instance(self, obj: Model) -> str:
        return self.name_of(obj)


class HeadedChoicesField(forms.ModelMultipleChoiceField):
    """Several rows under headings; the rows come sorted by their heading."""

    iterator = _UnderHeadings

    def __init__(
        self, queryset: QuerySet[Any], *, heading_of: Callable[[Any], str], **kwargs: Any
    ) -> None:
        self.heading_of = heading_of
        super().__init__(queryset, **kwargs)


def revision_field(**kwargs: Any) -> HeadedChoiceField:
    return HeadedChoiceField(
        Revision.objects.none(),
        heading_of=lambda revision: revision.schedule.get_process_display(),
        label="Schedule",
        **kwargs,
    )


def glass_field(**kwargs: Any) -> HeadedChoiceField:
    return HeadedChoiceField(
        GlassKind.objects.none(),
        heading_of=lambda kind: kind.family.name,
        label="Glass",
        required=False,
        empty_label="not said",
        **kwargs,
    )


def other_glasses_field() -> HeadedChoicesField:
    return HeadedChoicesField(
        GlassKind.objects.none(),
        heading_of=lambda kind: kind.family.name,
        label="Other glasses in it",
        required=False,
        help_text="All that lie with it. On a keyboard hold Ctrl or ⌘ to choose several.",
        widget=forms.SelectMultiple(attrs={"size": 8}),
    )


def glass_to_choose(*chosen: GlassKind | None) -> QuerySet[GlassKind]:
    """What is on record and not put away, and what was chosen before."""
    before = [kind.pk for kind in chosen if kind is not None]
    kinds = GlassKind.objects.filter(Q(archived_at=None) | Q(pk__in=before))
    return kinds.select_related("family")


class PersonField(forms.ModelChoiceField):
    """Oneself at first, and whom else one may write for; `also` stood there before.

    On a studio device the page doesn't know who saves it: it is whoever does.
    """

    def __init__(
        self, writer: Person, *, label: str | None = None, also: int | None = None
    ) -> None:
        self.writer = writer
        people = _people_to_write_for(writer)
        if also is not None:
            people |= Person.objects.filter(pk=also)
        if is_at_device(writer):
            how = {"required": False, "empty_label": "whoever saves it"}
        else:
            how = {"initial": writer, "empty_label": None}
        super().__init__(people, label=label, **how)  # type: ignore[arg-type]

    def clean(self, value: Any) -> Person:
        found: Person | None = super().clean(value)
        return self.writer if found is None else found


def _people_to_write_for(writer: Person) -> QuerySet[Person]:
    """Oneself; everybody, for those who may write for others."""
    if access.may(writer, "firing.write_for_others"):
        return Person.objects.filter(is_active=True)
    return Person.objects.filter(pk=writer.pk)


def is_at_device(writer: Person) -> bool:
    """Whether nobody is known yet, or they were known by a short code for this one save."""
    return writer.role == AT_DEVICE or writer.at_device is not None


def pieces_to_fire_again(writer: Person) -> QuerySet[Piece]:
    pieces = visible_pieces(writer).select_related("maker")
    if writer.role == AT_DEVICE or access.may(writer, "firing.write_for_others"):
        return pieces
    return pieces.filter(maker=writer)
