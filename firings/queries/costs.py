"""What firings cost and what is charged for them, by the prices of the day on which they began."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import cached_property
from math import pi

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from firings.models import Firing, KilnPrice, LoadedPiece, PriceList
from firings.models.prices import OF_A_KILN
from firings.queries.glass_use import GlassTaken, glass_taken
from firings.services.cost import (
    Bill,
    CostLine,
    FeeRule,
    FiringUse,
    GlassUse,
    Prices,
    firing_cost,
    firing_fee,
    split_bill,
)
from firings.services.money import currency_of
from studio.models import ChamberShape, Kiln, Person

A_PIECE = Decimal(1)
"""Weight of each where they are not weighed by their size."""
ROUND_SHARE = pi / 4
"""Of the box around a round shelf."""


@dataclass(frozen=True)
class Kwh:
    """`by`: "meter", "recording" or "plan"; None where nothing tells, and then 0. `spread` is one
    standard deviation, and `least`, `most` are what gaps leave open."""

    kwh: Decimal
    by: str | None
    spread: float = 0.0
    least: float = 0.0
    most: float = 0.0


@dataclass(frozen=True)
class MakerPart:
    """One maker's part of a load: its share of the fee and the glass of their own pieces."""

    maker: Person
    pieces: int
    share: Decimal
    bill: Bill


@dataclass(frozen=True)
class FiringCosts:
    """`cost` is the studio's, `fee` what is charged for the load without its glass; both None
    without prices of that day. `areas`: mm² of each of the load, None where one has no size;
    `glass` by loaded piece. `unknown`: codes of what was not known: "energy", "sizes", "glass"."""

    firing: Firing
    prices: PriceList | None
    energy: Kwh
    hours: Decimal
    shelf_share: Decimal
    cost: Bill | None
    fee: Bill | None
    load: list[LoadedPiece]
    areas: list[Decimal] | None
    glass: dict[int, list[GlassUse]]
    unknown: tuple[str, ...]

    @cached_property
    def parts(self) -> tuple[MakerPart, ...]:
        """What each maker is charged; asks for the makers where `firings_for_sums` left them out.

        By shelf area, or by pieces where a size is missing; an empty load is whoever fires it.
        """
        if self.fee is None or self.prices is None:
            return ()
        weights: dict[int, Decimal] = {}
        makers: dict[int, Person] = {}
        pieces: dict[int, list[LoadedPiece]] = {}
        for place, each in enumerate(self.load):
            maker = each.piece.maker
            makers[maker.pk] = maker
            weight = A_PIECE if self.areas is None else self.areas[place]
            weights[maker.pk] = weights.get(maker.pk, Decimal(0)) + weight
            pieces.setdefault(maker.pk, []).append(each)
        if not makers:
            makers[self.firing.fired_by.pk] = self.firing.fired_by
            weights[self.firing.fired_by.pk] = A_PIECE
        whole = sum(weights.values(), Decimal(0))
        bills = split_bill(self.fee, list(weights.values()))
        return tuple(
            MakerPart(
                makers[pk],
                len(pieces.get(pk, [])),
                weights[pk] / whole,
                Bill(bill.currency, (*bill.lines, *self._glass_lines(pieces.get(pk, [])))),
            )
            for pk, bill in zip(weights, bills, strict=True)
        )

    @cached_property
    def charged(self) -> Decimal:
        """The sum of the parts, which splits nothing away."""
        if self.fee is None:
            return Decimal(0)
        glass = self._glass_lines(self.load)
        return self.fee.total + sum((line.amount for line in glass), Decimal(0))

    def _glass_lines(self, pieces: Sequence[LoadedPiece]) -> list[CostLine]:
        if self.prices is None or self.fee is None or not self.prices.charges_glass:
            return []
        rounded = self.fee.currency.rounded
        return [
            CostLine("glass", each.amount, rounded(each.cost), each.what)
            for piece in pieces
            for each in self.glass.get(piece.pk, [])
        ]


def firings_for_costs(firings: QuerySet[Firing] | None = None) -> QuerySet[Firing]:
    """With all that `costs_of` reads of them; with their whole loads, whoever asks."""
    load = LoadedPiece.objects.select_related("piece__maker").order_by("pk")
    return (
        (Firing.objects.all() if firings is None else firings)
        .select_related("kiln", "fired_by", "booking", "computed_energy", "brought")
        .prefetch_related(Prefetch("load", load))
        .order_by("started_at", "pk")
    )


def firings_for_sums(firings: QuerySet[Firing]) -> QuerySet[Firing]:
    """As `firings_for_costs`, for sums over many of them: without who fired and who made."""
    load = LoadedPiece.objects.only("firing", "length_mm", "width_mm").order_by("pk")
    return (
        firings.select_related("booking", "computed_energy", "brought")
        .prefetch_related("kiln", Prefetch("load", load))
        .order_by("started_at", "pk")
    )


def costs_of(firings: Iterable[Firing]) -> list[FiringCosts]:
    """Of firings from `firings_for_costs` or `firings_for_sums`; eight queries at most, however
    many."""
    loads = [(firing, list(firing.load.all())) for firing in firings]
    lists = price_lists()
    taken = glass_taken([loaded for _, load in loads for loaded in load])
    return [_costs(firing, load, lists, taken) for firing, load in loads]


def price_lists() -> list[PriceList]:
    """All of them, the newest first, with their kilns' own prices."""
    return list(
        PriceList.objects.prefetch_related(
            Prefetch("kilns", KilnPrice.objects.select_related("kiln"))
        )
    )


def prices_on(lists: Sequence[PriceList], at: datetime | None) -> PriceList | None:
    """Those of the day; None before the first list, and for what has no day yet."""
    if at is None:
        return None
    day = timezone.localtime(at).date()
    return next((each for each in lists if each.valid_from <= day), None)


def _costs(
    firing: Firing,
    load: list[LoadedPiece],
    lists: Sequence[PriceList],
    taken: dict[int, list[GlassTaken]],
) -> FiringCosts:
    energy, seconds = energy_of(firing), _seconds(firing)
    areas = _areas(load)
    share = _shelf_share(firing.kiln, areas)
    unknown = [] if energy.by else ["energy"]
    if areas is None and load:
        unknown.append("sizes")
    began = firing.started_at or firing.planned_start
    prices = None if firing.is_brought_in else prices_on(lists, began)
    glass: dict[int, list[GlassUse]] = {}
    cost = fee = None
    if prices is not None:
        found = {each.pk: _glass(taken.get(each.pk, []), prices) for each in load}
        if any(each is None for uses in found.values() for each in uses):
            unknown.append("glass")
        glass = {pk: [each for each in uses if each is not None] for pk, uses in found.items()}
    use = FiringUse(
        kwh=energy.kwh,
        seconds=seconds,
        shelf_share=share,
        glass=tuple(each for uses in glass.values() for each in uses),
    )
    if prices is not None:
        kiln = _of_kiln(prices, firing.kiln)
        cost, fee = firing_cost(use, _prices(prices, kiln)), firing_fee(use, _rule(prices, kiln))
    return FiringCosts(
        firing, prices, energy, use.hours, share, cost, fee, load, areas, glass, tuple(unknown)
    )


def energy_of(firing: Firing) -> Kwh:
    """By the meter, or as it was computed when the firing was opened."""
    if firing.energy_kwh is not None:
        return Kwh(firing.energy_kwh, "meter")
    kept = getattr(firing, "computed_energy", None)
    if kept is None:
        return Kwh(Decimal(0), None)
    kwh = round(Decimal(kept.kwh), 2)
    return Kwh(kwh, kept.by, kept.kwh * kept.relative_error, kept.least_kwh, kept.most_kwh)


def _seconds(firing: Firing) -> Decimal:
    """For which the kiln was taken: until it could be opened, not until somebody came."""
    booking = getattr(firing, "booking", None)
    if booking is not None and booking.ends_at is not None:
        return _span(booking.starts_at, booking.ends_at)
    if firing.started_at is not None and firing.opened_at is not None:
        return _span(firing.started_at, firing.opened_at)
    return Decimal(0)


def _span(start: datetime, end: datetime) -> Decimal:
    return Decimal(max(0, round((end - start).total_seconds())))


def _areas(load: Sequence[LoadedPiece]) -> list[Decimal] | None:
    """mm² of each piece; None where one of them has no size."""
    footprints = [each.footprint for each in load]
    if not load or any(each is None for each in footprints):
        return None
    return [Decimal(each.area) for each in footprints if each is not None]


def _shelf_share(kiln: Kiln, areas: Sequence[Decimal] | None) -> Decimal:
    """The whole shelf where sizes are not known."""
    if areas is None:
        return Decimal(1)
    shelf = kiln.chamber_width_mm * kiln.chamber_depth_mm
    round_ones = (ChamberShape.ROUND, ChamberShape.OVAL, ChamberShape.MANY_SIDED)
    part = ROUND_SHARE if kiln.chamber_shape in round_ones else 1.0
    return min(Decimal(1), round(sum(areas, Decimal(0)) / Decimal(shelf * part), 4))


def _glass(uses: Iterable[GlassTaken], prices: PriceList) -> list[GlassUse | None]:
    """None for one whose cost is not known."""
    return [
        None
        if each.cost is None or each.currency != prices.currency
        else GlassUse(str(each.use.kind), Decimal(each.amount), each.cost)
        for each in uses
        if not each.is_given_back
    ]


def _of_kiln(prices: PriceList, kiln: Kiln) -> dict[str, Decimal]:
    """A kiln's own prices, and the list's where it has none."""
    own = next((each for each in prices.kilns.all() if each.kiln_id == kiln.pk), None)
    found = {}
    for name in OF_A_KILN:
        value = None if own is None else getattr(own, name)
        found[name] = getattr(prices, name) if value is None else value
    return found


def _prices(prices: PriceList, kiln: dict[str, Decimal]) -> Prices:
    return Prices(
        currency_of(prices.currency),
        per_kwh=prices.per_kwh,
        kiln_hour=kiln["kiln_hour"],
        kiln_shelf=kiln["kiln_shelf"],
        wear_firing=kiln["wear_firing"],
        wear_hour=prices.wear_hour,
    )


def _rule(prices: PriceList, kiln: dict[str, Decimal]) -> FeeRule:
    return FeeRule(
        currency_of(prices.currency),
        per_firing=kiln["fee_firing"],
        shelf_share=kiln["fee_shelf"],
        per_kwh=prices.fee_kwh,
        per_hour=prices.fee_hour,
        minimum=prices.fee_least,
    )
