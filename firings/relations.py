"""How a person stands to the things of this app; read by `studio.access`."""

from firings.models import Firing, LoadedPiece, Photograph, Piece
from studio.access import OTHER, OWN, relation_finder
from studio.models import Person


@relation_finder(Firing)
def to_firing(person: Person, firing: Firing) -> str:
    """Own: whoever fires it, and whoever wrote it down."""
    return OWN if person.pk in (firing.fired_by_id, firing.written_by_id) else OTHER


@relation_finder(Piece)
def to_piece(person: Person, piece: Piece) -> str:
    return OWN if person.pk == piece.maker_id else OTHER


@relation_finder(LoadedPiece)
def to_loaded_piece(person: Person, loaded: LoadedPiece) -> str:
    """Own: its maker, wherever it is fired. A verdict is the maker's, not the firer's."""
    return OWN if person.pk == loaded.piece.maker_id else OTHER


@relation_finder(Photograph)
def to_photograph(person: Person, photograph: Photograph) -> str:
    firing = photograph.firing
    theirs = (photograph.taken_by_id, firing.fired_by_id, firing.written_by_id)
    return OWN if person.pk in theirs else OTHER
