"""A member's month: what each of their firings was charged, and what it comes to."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Min, Q, QuerySet
from django.utils import timezone

from firings.models import Firing, FiringState
from firings.queries.brought import logged_here
from firings.queries.costs import FiringCosts, MakerPart, costs_of, firings_for_costs
from firings.services.cost import Bill, CostLine, Statement, statement
from firings.services.money import Currency, currency_of
from studio.days import midnight, month_after, month_before, month_of
from studio.models import Person, Studio, TeachingClass
from studio.queries.names import ByName


@dataclass(frozen=True)
class ChargedFiring:
    """A firing of the month, and the person's part of it; None where no price stood that day."""

    costs: FiringCosts
    part: MakerPart | None

    @property
    def lines(self) -> tuple[CostLine, ...]:
        return () if self.part is None else self.part.bill.lines


@dataclass(frozen=True)
class MemberMonth:
    """`statement` is None where the month's prices are in more than one currency."""

    person: Person
    first_day: date
    firings: list[ChargedFiring]
    statement: Statement | None

    @property
    def total(self) -> Decimal:
        return self.statement.total if self.statement else Decimal(0)

    @property
    def is_priced(self) -> bool:
        return any(each.part is not None for each in self.firings)


def member_month(person: Person, first_day: date) -> MemberMonth:
    firings = fired_in(first_day).filter(_of_person(person)).distinct()
    return _member_month(person, first_day, costs_of(firings_for_costs(firings)))


def members_month(people: Sequence[Person], first_day: date) -> list[MemberMonth]:
    """Of each who fired in it, in the order of `people`; the queries of one member's month."""
    numbers = [each.pk for each in people]
    firings = fired_in(first_day).filter(
        Q(load__piece__maker__in=numbers) | Q(load=None, fired_by__in=numbers)
    )
    costs = costs_of(firings_for_costs(firings.distinct()))
    months = [_member_month(person, first_day, costs) for person in people]
    return [each for each in months if each.firings]


def members_of(teaching_class: TeachingClass | None) -> QuerySet[Person]:
    """Whose statements are asked for: a class's students, or everybody's."""
    people = Person.objects.order_by(ByName("name"), "pk")
    if teaching_class is None:
        return people
    return people.filter(pk__in=teaching_class.members.values("person"))


def fired_in(first_day: date) -> QuerySet[Firing]:
    """Those that were opened and logged here, in the month of their start by the studio's clock."""
    return Firing.objects.filter(
        logged_here(),
        state=FiringState.OPENED,
        started_at__gte=midnight(first_day),
        started_at__lt=midnight(month_after(first_day)),
    )


def months_beside(first_day: date) -> tuple[date | None, date | None]:
    """The month before, as far as firings go back, and the one after, as far as today."""
    opened = Firing.objects.filter(logged_here(), state=FiringState.OPENED)
    first = opened.aggregate(at=Min("started_at"))["at"]
    before, after = month_before(first_day), month_after(first_day)
    goes_back = first is not None and month_of(timezone.localtime(first).date()) <= before
    return before if goes_back else None, after if after <= timezone.localdate() else None


def _of_person(person: Person) -> Q:
    return Q(load__piece__maker=person) | Q(load=None, fired_by=person)


def _member_month(person: Person, first_day: date, costs: Iterable[FiringCosts]) -> MemberMonth:
    charged = []
    for each in costs:
        makers = {loaded.piece.maker_id for loaded in each.load}
        if person.pk in (makers or {each.firing.fired_by_id}):
            part = next((part for part in each.parts if part.maker.pk == person.pk), None)
            charged.append(ChargedFiring(each, part))
    return MemberMonth(person, first_day, charged, _joined(_bills(charged)))


def statement_of_all(months: Iterable[MemberMonth]) -> Statement | None:
    """All that they are charged, as one statement; None where there is more than one currency."""
    return _joined(_bills([each for month in months for each in month.firings]))


Labelled = tuple[str, Bill]


def _bills(charged: Iterable[ChargedFiring]) -> list[Labelled]:
    return [(str(each.costs.firing), each.part.bill) for each in charged if each.part is not None]


def _joined(bills: Sequence[Labelled]) -> Statement | None:
    currencies: list[Currency] = list(dict.fromkeys(bill.currency for _, bill in bills))
    if len(currencies) > 1:
        return None
    currency = currencies[0] if currencies else currency_of(Studio.current().currency)
    return statement(bills, currency)
