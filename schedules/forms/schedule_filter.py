from functools import partial
from typing import Any

import django_filters
from django import forms
from django.db.models import QuerySet

from schedules.models import Process, Schedule
from studio.models import GlassFamily
from studio.queries.words import contains, every_word

SEARCHED = ("name", "note", "family__name", "owner__name")


class ScheduleFilter(django_filters.FilterSet):
    """By words, process, family, whose they are, and whether they were put away."""

    words = django_filters.CharFilter(method="with_words", label="Words")
    process = django_filters.ChoiceFilter(choices=Process, empty_label="any")
    family = django_filters.ModelChoiceFilter(
        queryset=GlassFamily.objects.all(), label="Glass family", empty_label="any"
    )
    whose = django_filters.ChoiceFilter(
        method="of_whom", choices=[("mine", "mine")], empty_label="everyone’s", label="Whose"
    )
    archived = django_filters.BooleanFilter(
        method="put_away",
        label="Archived ones",
        widget=forms.CheckboxInput,
    )

    class Meta:
        model = Schedule
        fields: list[str] = []

    @property
    def is_narrowed(self) -> bool:
        """Whether a filter is set that a page shows folded away."""
        return any(self.data.get(name) for name in ("family", "whose", "archived"))

    def filter_queryset(self, queryset: QuerySet[Schedule]) -> QuerySet[Schedule]:
        queryset = super().filter_queryset(queryset)
        archived = bool(self.form.cleaned_data.get("archived"))
        return queryset.filter(archived_at__isnull=not archived)

    def with_words(self, queryset: QuerySet[Schedule], name: str, value: str) -> Any:
        """Each word stands in the name, the note, the family's name or the owner's."""
        return queryset.filter(every_word(value, partial(contains, SEARCHED)))

    def of_whom(self, queryset: QuerySet[Schedule], name: str, value: str) -> Any:
        return queryset.filter(owner=self.request.user)

    def put_away(self, queryset: QuerySet[Schedule], name: str, value: bool) -> Any:
        return queryset  # applied in filter_queryset, ticked or not
