"""How a person stands to the things of this app; read by `studio.access`."""

from firings.models import (
    CalendarFeed,
    Comment,
    Firing,
    KilnMeasurement,
    LoadedPiece,
    Photograph,
    Piece,
    PieceSpot,
    PieceStep,
    RecordingFile,
    Review,
    SpotReading,
    WaitingPiece,
)
from studio.access import KEPT, OTHER, OWN, TAUGHT, relation_finder
from studio.models import Person
from studio.teaching import relation_between


@relation_finder(Firing)
def to_firing(person: Person, firing: Firing) -> str:
    """Own: whoever fires it, and whoever wrote it down."""
    return _to_what_they_did(person, firing)


@relation_finder(CalendarFeed)
def to_calendar_feed(person: Person, feed: CalendarFeed) -> str:
    return relation_between(person, feed.made_by)


@relation_finder(KilnMeasurement)
def to_measurement(person: Person, measurement: KilnMeasurement) -> str:
    """Own: whoever measured it. Anybody else's is one of the studio's."""
    return OWN if measurement.measured_by_id == person.pk else OTHER


@relation_finder(Piece)
def to_piece(person: Person, piece: Piece) -> str:
    return relation_between(person, piece.maker)


@relation_finder(WaitingPiece)
def to_waiting_piece(person: Person, waiting: WaitingPiece) -> str:
    return to_piece(person, waiting.piece)


@relation_finder(PieceStep)
def to_step(person: Person, step: PieceStep) -> str:
    return to_piece(person, step.piece)


@relation_finder(LoadedPiece)
def to_loaded_piece(person: Person, loaded: LoadedPiece) -> str:
    """Own: its maker, wherever it is fired. A verdict is the maker's, not the firer's."""
    return _kept_by_its_firing(loaded.firing, relation_between(person, loaded.piece.maker))


@relation_finder(PieceSpot)
def to_piece_spot(person: Person, spot: PieceSpot) -> str:
    """As to the piece: of a kept shelf each maker sees what was cut out for them."""
    return to_loaded_piece(person, spot.loaded_piece)


@relation_finder(Review)
def to_review(person: Person, review: Review) -> str:
    return to_loaded_piece(person, review.loaded_piece)


@relation_finder(Photograph)
def to_photograph(person: Person, photograph: Photograph) -> str:
    """Own also for whoever made the piece on it."""
    loaded = photograph.loaded_piece
    if loaded is not None and loaded.piece.maker_id == person.pk:
        return OWN
    return _to_what_they_did(person, photograph.firing, photograph.taken_by_id)


@relation_finder(RecordingFile)
def to_recording_file(person: Person, file: RecordingFile) -> str:
    return _to_what_they_did(person, file.firing, file.added_by_id)


@relation_finder(SpotReading)
def to_spot_reading(person: Person, reading: SpotReading) -> str:
    return _to_what_they_did(person, reading.firing, reading.noted_by_id)


@relation_finder(Comment)
def to_comment(person: Person, comment: Comment) -> str:
    """Own: for whoever said it alone; whoever fires the firing stands to it as others do."""
    if comment.said_by_id == person.pk:
        return OWN
    relation = to_firing(person, comment.firing)
    return OTHER if relation == OWN else relation


def _to_what_they_did(person: Person, firing: Firing, *also: int) -> str:
    """Own: for whoever fires it or wrote it down, and for whoever added the part in question."""
    if person.pk in (firing.fired_by_id, firing.written_by_id, *also):
        return OWN
    return _kept_by_its_firing(firing, relation_between(person, firing.fired_by))


def _kept_by_its_firing(firing: Firing, relation: str) -> str:
    return KEPT if firing.is_private and relation not in (OWN, TAUGHT) else relation
