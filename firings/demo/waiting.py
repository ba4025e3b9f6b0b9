"""Pieces of the demo studio that wait for a kiln: three go together, two don't."""

from datetime import datetime, timedelta

from firings.actions.waiting import piece_wait
from studio.models import GlassKind, Person

# who, title, process, glass, layers, thickest mm, length, width, days waited, wanted, days left
WAITING = (
    ("ravi", "Weir coaster", "full_fuse", "sea green", 2, 6.0, 120, 120, 6, "flat, edges soft", 9),
    ("inka", "Sluice tile", "full_fuse", "deep blue", 2, 6.0, 150, 150, 4, "", None),
    ("ravi", "Millpond tile", "full_fuse", "turquoise", 2, 6.0, 150, 120, 2, "", None),
    ("oona", "Headwater block", "full_fuse", "clear", 4, 12.0, 150, 150, 3, "no bubbles", None),
    ("inka", "Shallow dish", "slump", "white", 2, 6.0, 200, 200, 1, "even rim", 14),
)


def waiting_make(people: dict[str, Person], glass: dict[str, GlassKind], now: datetime) -> None:
    for who, title, process, colour, layers, thickest, length, width, days, wanted, left in WAITING:
        piece_wait(
            maker=people[who],
            title=title,
            process=process,
            glass=glass[f"Millrace 90: {colour}"],
            layers=layers,
            thickest_mm=thickest,
            length_mm=float(length),
            width_mm=float(width),
            wanted=wanted,
            wanted_by=None if left is None else (now + timedelta(days=left)).date(),
            since=now - timedelta(days=days),
        )
