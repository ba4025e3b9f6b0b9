from dataclasses import dataclass
from functools import partial

import django_filters
from django import forms
from django.db.models import Count, Q, QuerySet

from studio.core_inputs import estimated_glass_of, row_of_points
from studio.models import GlassFamily, GlassForm, GlassKind
from studio.queries.names import ByName
from studio.queries.words import contains, every_word
from studio.services.estimated_glass import EstimatedGlass

SEARCHED = ("colour", "maker", "code", "family__name", "look", "note")


class GlassFilter(django_filters.FilterSet):
    family = django_filters.ModelChoiceFilter(
        queryset=GlassFamily.objects.all(), empty_label="all families"
    )
    form = django_filters.ChoiceFilter(choices=GlassForm.choices, empty_label="all forms")
    words = django_filters.CharFilter(method="with_words", label="Words")
    archived = django_filters.BooleanFilter(
        method="among_archived", label="The archived ones", widget=forms.CheckboxInput
    )

    class Meta:
        model = GlassKind
        fields = ["family", "form"]

    def with_words(self, kinds: QuerySet[GlassKind], _: str, words: str) -> QuerySet[GlassKind]:
        """Each word is somewhere in the colour, maker, code, family or note."""
        return kinds.filter(every_word(words, partial(contains, SEARCHED)))

    def among_archived(
        self, kinds: QuerySet[GlassKind], _: str, archived: bool
    ) -> QuerySet[GlassKind]:
        return kinds.filter(archived_at__isnull=not archived)


def kinds_on_record() -> QuerySet[GlassKind]:
    return GlassKind.objects.select_related("family").order_by(
        ByName("family__name"), ByName("colour"), "form", "thickness_mm", "pk"
    )


def families_on_record() -> QuerySet[GlassFamily]:
    """Each with the number of its kinds that are not archived, as `kind_count`."""
    unarchived = Count("kinds", filter=Q(kinds__archived_at__isnull=True))
    return GlassFamily.objects.annotate(kind_count=unarchived).order_by(ByName("name"), "pk")


@dataclass(frozen=True)
class Points:
    """The points by which a kind goes; whose they are, "own" or "family", or "" where neither it
    nor its family has any; and what is estimated where some are unknown."""

    source: str
    row: GlassKind | GlassFamily
    estimate: EstimatedGlass


def points_of(kind: GlassKind) -> Points:
    row = row_of_points(kind, kind.family)
    source = "" if row is None else "own" if row is kind else "family"
    return Points(source, row or kind, estimated_glass_of(kind))
