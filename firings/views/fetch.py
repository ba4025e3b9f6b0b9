"""Fetches what a page is about, and asks whether this person may do this to it."""

from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import get_object_or_404

from firings.models import (
    Comment,
    Fault,
    Firing,
    FiringEvent,
    FiringState,
    LoadedPiece,
    Photograph,
    Piece,
    PieceSpot,
    PieceStep,
    RecordingFile,
    SpotReading,
)
from firings.queries.spots import may_mark
from firings.queries.visible import visible_pieces
from studio import access
from studio.models import Person


def firing_to(person: Person, act: str, pk: int) -> Firing:
    firing = get_object_or_404(
        Firing.objects.select_related("kiln", "revision__schedule", "fired_by", "booking"), pk=pk
    )
    access.require(person, act, firing)
    return firing


def firing_to_load(person: Person, pk: int) -> Firing:
    """To put a piece or a photograph into: for everybody until it is opened, then for its own."""
    firing = firing_to(person, "firing.write", pk)
    if firing.state not in (FiringState.PLANNED, FiringState.FIRING):
        access.require(person, "firing.change", firing)
    return firing


def recording_file_to(person: Person, act: str, pk: int) -> RecordingFile:
    file = get_object_or_404(
        RecordingFile.objects.select_related("firing__kiln", "firing__revision__schedule"), pk=pk
    )
    access.require(person, act, file)
    return file


def spot_reading_to_remove(person: Person, pk: int) -> SpotReading:
    reading = get_object_or_404(SpotReading.objects.select_related("firing"), pk=pk)
    access.require(person, "firing.change", reading)
    return reading


def event_to_remove(person: Person, pk: int) -> FiringEvent:
    event = get_object_or_404(FiringEvent.objects.select_related("firing"), pk=pk)
    access.require(person, "firing.change", event.firing)
    return event


def loaded_piece_to_change(person: Person, pk: int) -> LoadedPiece:
    """For its maker, and for those who may change its firing."""
    loaded = _loaded(pk)
    if not access.may(person, "firing.change", loaded.firing):
        access.require(person, "firing.change", loaded)
    return loaded


def loaded_piece_to_take_out(person: Person, pk: int) -> LoadedPiece:
    """As to change it; and for whoever put it in, until its firing is started."""
    loaded = _loaded(pk)
    if loaded.put_in_by_id == person.pk and loaded.firing.state == FiringState.PLANNED:
        access.require(person, "firing.write", loaded.firing)
        return loaded
    return loaded_piece_to_change(person, pk)


def loaded_piece_to_judge(person: Person, pk: int) -> LoadedPiece:
    loaded = _loaded(pk)
    access.require(person, "piece.judge", loaded)
    if loaded.remarks:  # they stand in the form
        access.require(person, "piece.read_remarks", loaded)
    return loaded


def loaded_piece_to_review(person: Person, pk: int) -> LoadedPiece:
    loaded = _loaded(pk)
    access.require(person, "piece.review", loaded)
    return loaded


def fault_to_remove(person: Person, pk: int) -> Fault:
    fault = get_object_or_404(Fault, pk=pk)
    fault.loaded_piece = loaded_piece_to_judge(person, fault.loaded_piece_id)
    return fault


def piece_to_see(person: Person, pk: int) -> Piece:
    piece = get_object_or_404(Piece.objects.select_related("maker"), pk=pk)
    access.require(person, "piece.see", piece)
    if not visible_pieces(person).filter(pk=pk).exists():
        raise PermissionDenied  # it lay in loads alone that are kept
    return piece


def piece_to_plan(person: Person, pk: int) -> Piece:
    """To give it steps."""
    piece = piece_to_see(person, pk)
    access.require(person, "step.change", piece)
    return piece


def step_to_change(person: Person, pk: int) -> PieceStep:
    step = get_object_or_404(
        PieceStep.objects.with_standing().select_related("piece__maker", "schedule"), pk=pk
    )
    step.piece = piece_to_plan(person, step.piece_id)
    return step


def _loaded(pk: int) -> LoadedPiece:
    return get_object_or_404(
        LoadedPiece.objects.select_related(
            "firing__kiln", "firing__revision__schedule", "piece__maker", "glass__family", "place"
        ),
        pk=pk,
    )


def photograph_to(person: Person, act: str, pk: int) -> Photograph:
    photograph = get_object_or_404(Photograph.objects.select_related("firing"), pk=pk)
    access.require(person, act, photograph)
    return photograph


def photograph_to_look_at(person: Person, pk: int) -> Photograph:
    """One of a comment is seen by those who read the comments of its firing."""
    photograph = get_object_or_404(
        Photograph.everywhere.select_related("firing__fired_by", "loaded_piece__piece"), pk=pk
    )
    if photograph.in_conversation:
        access.require(person, "comment.read", photograph.firing)
    else:
        access.require(person, "firing.see_load", photograph)
    return photograph


def photograph_to_mark(person: Person, pk: int) -> Photograph:
    """One of a whole shelf, to say which piece lies where on it."""
    photograph = get_object_or_404(
        Photograph.objects.select_related("firing__kiln", "firing__fired_by"),
        pk=pk,
        loaded_piece=None,
    )
    access.require(person, "firing.see_load", photograph)
    if not may_mark(person, photograph.firing):
        raise PermissionDenied
    return photograph


def spot_to_remove(person: Person, pk: int) -> PieceSpot:
    spot = _spot(pk)
    photograph_to_mark(person, spot.photograph_id)
    return spot


def spot_to_look_at(person: Person, pk: int) -> PieceSpot:
    """Seen by those who see its piece; the whole shelf by those who see its load."""
    spot = _spot(pk)
    access.require(person, "piece.see", spot)
    return spot


def _spot(pk: int) -> PieceSpot:
    return get_object_or_404(
        PieceSpot.objects.select_related("loaded_piece__firing", "loaded_piece__piece__maker"),
        pk=pk,
    )


def firing_to_talk_of(person: Person, pk: int) -> Firing:
    """To read what is said about it, and to say something."""
    return firing_to(person, "comment.read", pk)


def comment_to_take_back(person: Person, pk: int) -> Comment:
    comment = get_object_or_404(Comment.objects.select_related("firing__fired_by"), pk=pk)
    access.require(person, "comment.take_back", comment)
    return comment


def number_in(value: str | None) -> int | None:
    """A row's number from a query, None when there is none; anything else leads nowhere."""
    if not value:
        return None
    if not value.isdecimal() or len(value) > 18:
        raise Http404
    return int(value)
