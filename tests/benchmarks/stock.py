"""The glass shelf with 20,000 lots and 200,000 movements: `python -m tests.benchmarks.stock`.

A database of its own in a temporary folder; each page is asked of the site itself, without a
network, and the best of `ROUNDS` stands beside a fixed numpy loop. Ends with 1 where a figure
misses its limit.
"""

import sys
from typing import Any

from tests.benchmarks.page_times import page_time, signed_in, site_of_its_own, yardstick_ms

LONGEST_MS, MOST_QUERIES = 100.0, 10
KINDS, LOTS, MOVEMENTS = 1_000, 20_000, 200_000
PAGES = {
    "shelf": "/glass/shelf/",
    "search": "/glass/shelf/?words=colour+7&form=sheet",
    "offcut": "/glass/shelf/?size=180x120",
    "offcut of one thickness": "/glass/shelf/?size=900x700&thickness=3",
    "colour": "/glass/shelf/?colour=colour+7",
    "colour and size": "/glass/shelf/?colour=colour+7&size=180x120",
    "goes with two glasses": "/glass/shelf/?goes_with=1&goes_with=6",
    "offcut that goes with them": "/glass/shelf/?goes_with=1&goes_with=6&size=180x120",
    "low": "/glass/shelf/?low=on",
    "shopping list": "/glass/shelf/low/",
}


def main() -> int:
    with site_of_its_own():
        return measure()


def fill(person: Any) -> None:
    """Lots of sheet; each movement after the first cuts a sheet or brings an offcut back."""
    from studio.models import GlassKind, GlassLot, StockLevel, StockMovement, StockSize
    from tests.factories import make_family

    families = [make_family(f"Family {number}") for number in range(5)]
    kinds = GlassKind.objects.bulk_create(
        GlassKind(
            family=families[number % 5],
            colour=f"colour {number}",
            form="sheet",
            thickness_mm=2.0 + number % 4,
            carries_sulphur=number % 7 == 0,
            carries_copper=number % 7 == 1,
            look="striker" if number % 11 == 0 else "transparent",
        )
        for number in range(KINDS)
    )
    each = MOVEMENTS // LOTS
    lots, movements, sizes = [], [], []
    for number in range(LOTS):
        length, width = 400 + number % 700, 300 + number % 50
        area, offcut = length * width, (100 + number % 200) * 100
        cuts = (each - 1) // 2
        backs = each - 1 - cuts
        lot = GlassLot(
            pk=number + 1,
            kind=kinds[number % KINDS],
            measure="area",
            currency="EUR",
            received=10 * area,
            remaining=(10 - cuts) * area + backs * offcut,
        )
        lots.append(lot)
        whole = {"lot": lot, "by": person, "length_mm": length, "width_mm": width}
        part = whole | {"length_mm": 100 + number % 200, "width_mm": 100}
        movements.append(StockMovement(**whole, what="received", pieces=10, amount=10 * area))
        movements += [
            StockMovement(**whole, what="cut", pieces=-1, amount=-area) for _ in range(cuts)
        ]
        movements += [
            StockMovement(**part, what="offcut", pieces=1, amount=offcut) for _ in range(backs)
        ]
        sizes += [
            StockSize(lot=lot, length_mm=length, width_mm=width, pieces=10 - cuts),
            StockSize(lot=lot, length_mm=100 + number % 200, width_mm=100, pieces=backs),
        ]
    GlassLot.objects.bulk_create(lots, batch_size=1000)
    StockMovement.objects.bulk_create(movements, batch_size=1000)
    StockSize.objects.bulk_create(sizes, batch_size=1000)
    StockLevel.objects.bulk_create(
        StockLevel(kind=kind, low_below=10**12 if at < 20 else 1) for at, kind in enumerate(kinds)
    )


def measure() -> int:
    from django.core.management import call_command

    from studio.models import GlassLot, StockMovement
    from tests.factories import make_person

    keeper = make_person("mads", role="keeper")
    fill(keeper)
    call_command("stock_check")
    client = signed_in(keeper)
    busiest = GlassLot.objects.first()
    if busiest is None:
        raise RuntimeError("no lot was made")
    pages = PAGES | {
        "a lot": f"/glass/shelf/lots/{busiest.pk}/",
        "a glass": f"/glass/{busiest.kind_id}/",
        "a cut proposed": f"/glass/shelf/lots/{busiest.pk}/cut/?sheet=400x300&wanted=180x120",
        "labels to choose": "/glass/shelf/labels/",
        "labels of a glass": f"/glass/shelf/labels/?kind={busiest.kind_id}",
    }
    print(f"{GlassLot.objects.count()} lots, {StockMovement.objects.count()} movements")
    print(f"at most {LONGEST_MS:.0f} ms of processor time and {MOST_QUERIES} queries a page")
    good = True
    for name, address in pages.items():
        took = page_time(client, address)
        print(f"  {name:24} {took.processor_ms:6.1f} ms  {took.queries:2d} queries")
        good = good and took.keeps_to(LONGEST_MS, MOST_QUERIES)
    print(f"  {'a fixed numpy loop':24} {yardstick_ms():6.1f} ms")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
