"""A year of 400 firings in four kilns: `python -m tests.benchmarks.year`.

A database of its own in a temporary folder; the page is asked of the site itself, without a
network, and the best of `ROUNDS` stands beside a fixed numpy loop. Ends with 1 where a figure
misses its limit.
"""

import sys
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from tests.benchmarks.page_times import page_time, signed_in, site_of_its_own, yardstick_ms

LONGEST_MS, MOST_QUERIES = 100.0, 12
KILNS, FIRINGS, PIECES = 4, 400, 3
PAGES = (
    "/year/?year=2026",
    "/year/costs/?year=2026",
    "/year/year.csv?year=2026",
    "/year/faults.csv?year=2026",
)


def main() -> int:
    with site_of_its_own():
        return measure()


def fill(person: Any) -> None:
    """One firing of four was metered, one is unknown, and of the others it was computed; one piece
    of five shows a fault."""
    from firings.models import ComputedEnergy, Fault, Firing, LoadedPiece, Piece
    from tests.factories import make_kiln, make_person, make_revision, make_schedule

    kilns = [make_kiln(f"Kiln {number}") for number in range(KILNS)]
    makers = [make_person(f"student{number}", role="student") for number in range(30)]
    revision = make_revision(make_schedule(person))
    began = datetime(2026, 1, 2, 9, tzinfo=UTC)
    firings = Firing.objects.bulk_create(
        Firing(
            kiln=kilns[number % KILNS],
            revision=revision,
            fired_by=person,
            written_by=person,
            state="opened",
            started_at=began + timedelta(hours=20 * number),
            opened_at=began + timedelta(hours=20 * number + 18),
            recorded_duration_s=40_000,
            energy_kwh=Decimal(20) if number % 4 == 0 else None,
        )
        for number in range(FIRINGS)
    )
    ComputedEnergy.objects.bulk_create(
        ComputedEnergy(
            firing=firing,
            kwh=21.0,
            least_kwh=20.0,
            most_kwh=22.0,
            relative_error=0.1,
            by="plan",
            metered=4,
        )
        for number, firing in enumerate(firings)
        if number % 4 in (1, 2)
    )
    pieces = Piece.objects.bulk_create(
        Piece(title=f"Tile {number}", maker=makers[number % len(makers)])
        for number in range(FIRINGS * PIECES)
    )
    loaded = LoadedPiece.objects.bulk_create(
        LoadedPiece(firing=firings[number // PIECES], piece=piece, layers=2)
        for number, piece in enumerate(pieces)
    )
    Fault.objects.bulk_create(
        Fault(loaded_piece=each, kind="stuck", noted_by=person) for each in loaded[::5]
    )


def measure() -> int:
    from tests.factories import make_person, make_prices

    keeper = make_person("mads", role="keeper")
    fill(keeper)
    make_prices(valid_from=date(2026, 1, 1))
    client = signed_in(keeper)
    print(f"{FIRINGS} firings, {FIRINGS * PIECES} pieces")
    print(f"at most {LONGEST_MS:.0f} ms of processor time and {MOST_QUERIES} queries a page")
    good = True
    for address in PAGES:
        took = page_time(client, address)
        print(f"  {address:28} {took.processor_ms:6.1f} ms  {took.queries:2d} queries")
        good = good and took.keeps_to(LONGEST_MS, MOST_QUERIES)
    print(f"  {'a fixed numpy loop':28} {yardstick_ms():6.1f} ms")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
