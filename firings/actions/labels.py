"""Gives kilns and pieces the codes of their labels."""

from collections.abc import Iterable

from firings.models import Label, Piece
from studio.models import Kiln


def kiln_labels_ready(*, kilns: Iterable[Kiln]) -> list[Label]:
    """The label of each kiln, in their order; one that has none yet gets it."""
    kilns = list(kilns)
    Label.objects.bulk_create([Label(kiln=each) for each in kilns], ignore_conflicts=True)
    found = {each.kiln_id: each for each in Label.objects.filter(kiln__in=kilns)}
    return [found[each.pk] for each in kilns]


def piece_labels_ready(*, pieces: Iterable[Piece]) -> list[Label]:
    """The label of each piece, in their order; one that has none yet gets it."""
    pieces = list(pieces)
    Label.objects.bulk_create([Label(piece=each) for each in pieces], ignore_conflicts=True)
    found = {each.piece_id: each for each in Label.objects.filter(piece__in=pieces)}
    return [found[each.pk] for each in pieces]
