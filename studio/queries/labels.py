"""What is printed on a label, with its code drawn; and the labels of lots."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice

import segno
from django.db.models import QuerySet
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe

from studio import formats
from studio.models import GlassKind, GlassLot, LotLabel

MOST_LOTS, MOST_LABELS = 50, 200
DRAWINGS_KEPT = 256
"""Of some 4 kB each; all pieces of a lot carry the same one."""


@dataclass(frozen=True)
class PrintedLabel:
    """A label as it is printed: what stands on it, and its address as a drawing (ISO/IEC 18004)."""

    name: str
    lines: list[str]
    address: str

    @property
    def drawing(self) -> SafeString:
        """With the margin of four modules that readers need, on white in the dark as well."""
        return mark_safe(_drawn(self.address))  # noqa: S308  by the library, of an address of ours


@lru_cache(maxsize=DRAWINGS_KEPT)
def _drawn(address: str) -> str:
    code = segno.make(address, error="m", micro=False)
    return str(code.svg_inline(border=4, light="#fff", dark="#000", omitsize=True))


def lots_to_label(kind: GlassKind | None, chosen: Iterable[str]) -> QuerySet[GlassLot]:
    """What is offered: of a kind what is left, else what came last; and whatever is chosen."""
    left = GlassLot.objects.filter(remaining__gt=0)
    newest = (left.filter(kind=kind) if kind else left).order_by("-received_on", "-pk")[:MOST_LOTS]
    named = [int(pk) for pk in chosen if pk.isdecimal()][:MOST_LOTS]
    return (
        GlassLot.objects.filter(pk__in=[*newest.values_list("pk", flat=True), *named])
        .select_related("kind__family")
        .prefetch_related("sizes")
        .order_by("-received_on", "-pk")
    )


def lot_labels(
    labels: Iterable[LotLabel], each: str, absolute: Callable[[str], str]
) -> list[PrintedLabel]:
    """One for each lot, for each size that is there of a sheet, or for each of its pieces; at most
    `MOST_LABELS`. The lots of `lots_to_label` bring along what is printed."""
    return list(islice(_lot_labels(labels, each, absolute), MOST_LABELS))


def _lot_labels(
    labels: Iterable[LotLabel], each: str, absolute: Callable[[str], str]
) -> Iterator[PrintedLabel]:
    for label in labels:
        lot = label.lot
        address = absolute(reverse("studio:lot_code", args=[label.code]))
        came = f"{lot}, batch {lot.batch}" if lot.batch else str(lot)
        sizes = [] if each == "lot" else lot.sizes.all()
        sized = [
            formats.size(size.rectangle)
            for size in sizes
            for _ in range(size.pieces if each == "piece" else 1)
        ]
        for size in sized or [""]:
            lines = [lot.kind.family.name, size, came, lot.place]
            yield PrintedLabel(str(lot.kind), [line for line in lines if line], address)
