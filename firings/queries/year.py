"""A year of the studio: firings, hours and energy by kiln and month."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.db.models import Max, Min, QuerySet
from django.utils import timezone

from firings.models import Firing, FiringState
from firings.queries.year_faults import FaultRow, year_faults
from firings.services.energy import EnergyUse
from studio.days import midnight
from studio.models import Kiln, Person

MONTHS = range(1, 13)
SECONDS_PER_HOUR = 3600


@dataclass
class Sum:
    """Of firings; `untimed` of them have no duration on record.

    Of `metered` of them a meter showed `kwh`; for `computed` others it was computed, `computed_kwh`
    give or take `doubt_kwh`, and of the rest nothing is known. Doubts are added up: those of one
    kiln's firings go together.
    """

    firings: int = 0
    seconds: float = 0.0
    untimed: int = 0
    kwh: Decimal = Decimal(0)
    metered: int = 0
    computed_kwh: float = 0.0
    doubt_kwh: float = 0.0
    computed: int = 0

    def add(
        self, seconds: int | None, kwh: Decimal | None, computed: EnergyUse | None = None
    ) -> None:
        self.firings += 1
        self.seconds += seconds or 0
        self.untimed += seconds is None
        if kwh is not None:
            self.kwh += kwh
            self.metered += 1
        elif computed is not None:
            self.computed_kwh += computed.kwh
            self.doubt_kwh += computed.standard_deviation + (computed.most - computed.least) / 2
            self.computed += 1

    @property
    def unmetered(self) -> int:
        return self.firings - self.metered

    @property
    def unknown(self) -> int:
        """Those of whose energy nothing is known."""
        return self.firings - self.metered - self.computed

    @property
    def hours(self) -> float:
        return self.seconds / SECONDS_PER_HOUR

    @property
    def all_kwh(self) -> float:
        """Metered and computed together."""
        return float(self.kwh) + self.computed_kwh


@dataclass(frozen=True)
class KilnYear:
    kiln: Kiln
    months: list[Sum]
    whole: Sum


@dataclass(frozen=True)
class StudioYear:
    year: int
    years: list[int]
    kilns: list[KilnYear]
    months: list[Sum]
    whole: Sum
    faults: dict[str, list[FaultRow]] = field(default_factory=dict)

    @property
    def first_days(self) -> list[date]:
        """Of its months, to be named."""
        return [date(self.year, month, 1) for month in MONTHS]


def studio_year(year: int | None, reader: Person) -> StudioYear:
    """By the studio's clock; a firing counts in the month of its start.

    Faults by person are a keeper's, an instructor's of their students, and one's own; pieces that
    are kept from this reader count nowhere among faults.
    """
    years = years_with_firings()
    shown = year if year in years else years[-1]
    fired = fired_in_year(shown)
    by_kiln: dict[int, list[Sum]] = defaultdict(lambda: [Sum() for _ in MONTHS])
    of_kiln: dict[int, Sum] = defaultdict(Sum)
    months, whole = [Sum() for _ in MONTHS], Sum()
    rows = fired.order_by().values_list(
        "kiln_id",
        "started_at",
        "recorded_duration_s",
        "energy_kwh",
        "computed_energy__kwh",
        "computed_energy__least_kwh",
        "computed_energy__most_kwh",
        "computed_energy__relative_error",
    )
    for kiln, started_at, seconds, kwh, *kept in rows:
        if started_at is None:
            continue
        month = timezone.localtime(started_at).month - 1
        computed = None if kept[0] is None else EnergyUse(*kept)
        for each in (by_kiln[kiln][month], of_kiln[kiln], months[month], whole):
            each.add(seconds, kwh, computed)
    kilns = [KilnYear(kiln, by_kiln[kiln.pk], of_kiln[kiln.pk]) for kiln in Kiln.objects.all()
             if kiln.in_service or kiln.pk in of_kiln]  # fmt: skip
    return StudioYear(shown, years, kilns, months, whole, year_faults(fired, reader))


def fired_in_year(year: int) -> QuerySet[Firing]:
    """What was started in it, by the studio's clock."""
    start, end = (midnight(date(each, 1, 1)) for each in (year, year + 1))
    return Firing.objects.filter(
        state__in=[FiringState.FIRING, FiringState.OPENED],
        started_at__gte=start,
        started_at__lt=end,
    )


def years_with_firings() -> list[int]:
    """From the first firing to now, without gaps."""
    ends = Firing.objects.aggregate(first=Min("started_at"), last=Max("started_at"))
    now = timezone.localdate().year
    first = timezone.localtime(ends["first"]).year if ends["first"] else now
    last = timezone.localtime(ends["last"]).year if ends["last"] else now
    return list(range(first, max(last, now) + 1))
