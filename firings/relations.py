"""How a person stands to the things of this app; read by `studio.access`."""

from firings.models import Firing, LoadedPiece, Photograph, Piece, RecordingFile, SpotReading
from studio.access import OTHER, OWN, relation_finder
from studio.models import Person


@relation_finder(Firing)
def to_firing(person: Person, firing: Firing) -> str:
    """Own: whoever fires it, and whoever wrote it down."""
    return _to_what_they_did(person, firing)


@relation_finder(Piece)
def to_piece(person: Person, piece: Piece) -> str:
    return OWN if person.pk == piece.maker_id else OTHER


@relation_finder(LoadedPiece)
def to_loaded_piece(person: Person, loaded: LoadedPiece) -> str:
    """Own: its maker, wherever it is fired. A verdict is the maker's, not the firer's."""
    return OWN if person.pk == loaded.piece.maker_id else OTHER


@relation_finder(Photograph)
def to_photograph(person: Person, photograph: Photograph) -> str:
    return _to_what_they_did(person, photograph.firing, photograph.taken_by_id)


@relation_finder(RecordingFile)
def to_recording_file(person: Person, file: RecordingFile) -> str:
    return _to_what_they_did(person, file.firing, file.added_by_id)


@relation_finder(SpotReading)
def to_spot_reading(person: Person, reading: SpotReading) -> str:
    return _to_what_they_did(person, reading.firing, reading.noted_by_id)


def _to_what_they_did(person: Person, firing: Firing, *also: int) -> str:
    """Own: for whoever fires it or wrote it down, and for whoever added the part in question."""
    return OWN if person.pk in (firing.fired_by_id, firing.written_by_id, *also) else OTHER
