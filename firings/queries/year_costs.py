"""What a year's firings cost and what was charged for them, by kiln and by month."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from django.utils import timezone

from firings.models import FiringState
from firings.queries.brought import logged_here
from firings.queries.costs import FiringCosts, costs_of, firings_for_sums
from firings.queries.year import fired_in_year, years_with_firings
from firings.services.money import currency_of
from studio.days import month_of
from studio.models import Studio

ZERO = Decimal(0)
PARTS = {
    "energy": "energy",
    "kiln_hours": "kiln",
    "kiln_shelf": "kiln",
    "glass": "glass",
    "wear_firing": "wear",
    "wear_hours": "wear",
}


@dataclass
class CostSum:
    """Of firings, in one currency; `unpriced` of them had no prices, or prices in another."""

    firings: int = 0
    unpriced: int = 0
    parts: dict[str, Decimal] = field(default_factory=lambda: dict.fromkeys(PARTS.values(), ZERO))
    charged: Decimal = Decimal(0)

    @property
    def total(self) -> Decimal:
        return sum(self.parts.values(), ZERO)

    def add(self, costs: FiringCosts, code: str) -> None:
        self.firings += 1
        if costs.cost is None or costs.cost.currency.code != code:
            self.unpriced += 1
            return
        for line in costs.cost.lines:
            self.parts[PARTS[line.code]] += line.amount
        self.charged += costs.charged


@dataclass(frozen=True)
class YearCosts:
    """`kilns` and `months` have a row where anything was opened."""

    year: int
    currency: str
    kilns: list[tuple[str, CostSum]]
    months: list[tuple[date, CostSum]]
    whole: CostSum

    @property
    def is_priced(self) -> bool:
        return self.whole.firings > self.whole.unpriced


def year_costs(asked: int | None) -> YearCosts:
    """Of opened firings, each in the month of its start; in the studio's currency of today. Of the
    latest year where nothing was fired in the one that is asked for."""
    years = years_with_firings()
    year = asked if asked in years else years[-1]
    opened = fired_in_year(year).filter(logged_here(), state=FiringState.OPENED)
    code = currency_of(Studio.current().currency).code
    kilns: dict[str, CostSum] = {}
    months: dict[date, CostSum] = {}
    whole = CostSum()
    for costs in costs_of(firings_for_sums(opened)):
        day = month_of(timezone.localtime(costs.firing.started_at).date())
        for each in (
            kilns.setdefault(costs.firing.kiln.name, CostSum()),
            months.setdefault(day, CostSum()),
            whole,
        ):
            each.add(costs, code)
    return YearCosts(
        year, code, _sorted(kilns.items()), sorted(months.items(), key=lambda row: row[0]), whole
    )


def _sorted(rows: Iterable[tuple[str, CostSum]]) -> list[tuple[str, CostSum]]:
    return sorted(rows, key=lambda row: row[0].casefold())
