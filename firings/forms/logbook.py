"""The logbook's filters. Every field may be empty; one that can't be read is left out and said."""

from datetime import date, timedelta
from typing import Any

import django_filters
from django import forms
from django.db.models import Exists, F, OuterRef, Q, QuerySet

from firings.models import FaultKind, Firing, FiringState, LoadedPiece, VerdictValue
from firings.queries.logbook import NEWEST_FIRST
from firings.queries.visible import open_load, visible_load
from schedules.models import Process, Schedule
from studio.days import midnight
from studio.models import Kiln, Person
from studio.queries.names import ByName
from studio.queries.words import contains, every_word

NOT_JUDGED = "none"
LONGEST_NUMBER = 12
DAY = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
SORTS = {
    "newest": ("newest first", NEWEST_FIRST),
    "oldest": ("oldest first", (F("when").asc(), F("pk").asc())),
    "kiln": ("by kiln", (ByName("kiln__name"), *NEWEST_FIRST)),
    "schedule": ("by schedule", (ByName("revision__schedule__name"), *NEWEST_FIRST)),
    "peak": (
        "by recorded peak, highest first",
        (F("recorded_peak_c").desc(nulls_last=True), *NEWEST_FIRST),
    ),
}
SEARCHED = ("title", "kiln__name", "revision__schedule__name", "fired_by__name")
SEARCHED_IN_ALL_BUT_KEPT = ("notes",)
SEARCHED_IN_LOAD = ("piece__title", "piece__maker__name", "wanted", "remarks")


class LogbookFilter(django_filters.FilterSet):
    words = django_filters.CharFilter(
        label="Words",
        method="with_words",
        help_text="Each word is looked for in titles, notes, pieces, schedules, kilns and people.",
        widget=forms.TextInput(attrs={"type": "search"}),
    )
    sort = django_filters.ChoiceFilter(
        label="Order",
        method="sorted",
        choices=[(name, words) for name, (words, _) in SORTS.items()],
        empty_label=None,
    )
    person = django_filters.ModelChoiceFilter(
        label="Who", method="by_person", queryset=Person.objects.all(), empty_label="anyone"
    )
    kiln = django_filters.ModelChoiceFilter(
        label="Kiln", queryset=Kiln.objects.all(), empty_label="any"
    )
    schedule = django_filters.ModelChoiceFilter(
        label="Schedule",
        field_name="revision__schedule",
        queryset=Schedule.objects.all(),
        empty_label="any",
    )
    process = django_filters.ChoiceFilter(
        label="Process",
        field_name="revision__schedule__process",
        choices=Process,
        empty_label="any",
    )
    verdict = django_filters.ChoiceFilter(
        label="Verdict",
        method="with_verdict",
        choices=[(NOT_JUDGED, "not judged yet"), *VerdictValue.choices],
        empty_label="any",
    )
    fault = django_filters.ChoiceFilter(
        label="Fault", method="with_fault", choices=FaultKind, empty_label="any or none"
    )
    state = django_filters.ChoiceFilter(label="State", choices=FiringState, empty_label="any")
    since = django_filters.DateFilter(label="From", method="from_day", widget=DAY)
    until = django_filters.DateFilter(label="Up to", method="to_day", widget=DAY)

    class Meta:
        model = Firing
        fields: list[str] = []

    def with_words(self, firings: QuerySet[Firing], name: str, value: str) -> QuerySet[Firing]:
        return firings.filter(every_word(value, self._place_of))

    def sorted(self, firings: QuerySet[Firing], name: str, value: str) -> QuerySet[Firing]:
        return firings.order_by(*SORTS[value][1])

    def by_person(self, firings: QuerySet[Firing], name: str, value: Person) -> QuerySet[Firing]:
        """What that person fired, and where a piece of theirs lay in the load."""
        theirs = self._load().filter(piece__maker=value)
        return firings.filter(Q(fired_by=value) | Exists(theirs))

    def with_verdict(self, firings: QuerySet[Firing], name: str, value: str) -> QuerySet[Firing]:
        load = self._load()
        if value != NOT_JUDGED:
            return firings.filter(Exists(load.filter(verdict=int(value))))
        nothing = ~Exists(load) & open_load(self._reader)
        unjudged = Exists(load.filter(verdict__isnull=True)) | nothing
        return firings.filter(unjudged, state=FiringState.OPENED)

    def with_fault(self, firings: QuerySet[Firing], name: str, value: str) -> QuerySet[Firing]:
        return firings.filter(Exists(self._load().filter(faults__kind=value)))

    def from_day(self, firings: QuerySet[Firing], name: str, value: date) -> QuerySet[Firing]:
        return firings.filter(Q(when__gte=midnight(value)))

    def to_day(self, firings: QuerySet[Firing], name: str, value: date) -> QuerySet[Firing]:
        if value == date.max:
            return firings
        return firings.filter(Q(when__lt=midnight(value + timedelta(days=1))))

    @property
    def _reader(self) -> Person | None:
        return None if self.request is None else self.request.user

    def _load(self) -> QuerySet[LoadedPiece]:
        """What the reader sees of the load of the firing in question."""
        return visible_load(self._reader).filter(firing=OuterRef("pk"))

    def _place_of(self, word: str) -> Q:
        """In a firing's own texts, in those of its load, or as its number."""
        in_load = self._load().filter(contains(SEARCHED_IN_LOAD, word))
        in_notes = contains(SEARCHED_IN_ALL_BUT_KEPT, word) & open_load(self._reader)
        found = contains(SEARCHED, word) | in_notes | Q(Exists(in_load))
        number = word.removeprefix("#")
        if number.isdecimal() and len(number) < LONGEST_NUMBER:
            found |= Q(pk=int(number))
        return found

    @property
    def is_narrowed(self) -> bool:
        """Whether a filter behind “More filters” is set, so that the page shows it open."""
        return any(self.data.get(name) for name in self.filters if name not in ("words", "sort"))


def kept_query(data: Any) -> str:
    """The query string of a filtered list without its empty fields."""
    query = data.copy()
    for name in list(query):
        if not any(query.getlist(name)):
            del query[name]
    return str(query.urlencode())
