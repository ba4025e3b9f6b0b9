"""The steps of a piece: planned, done, skipped, and done by the firings it is loaded into.

Each act locks the piece's row and looks at the steps again, so that of two people one is told.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from firings.actions.waiting import piece_wait
from firings.models import (
    ENDED,
    MAY_BE_FIRED,
    EventKind,
    FiringState,
    LoadedPiece,
    Piece,
    PieceStep,
    StepStanding,
    WaitingPiece,
)
from firings.queries.piece_now import piece_on_record
from firings.services.piece_now import cut_fits
from firings.services.step_sequences import SEQUENCES
from studio.formats import NO_BREAK, number
from studio.models import Person


class StepMovedOnError(ValidationError):
    """The step stands otherwise than whoever acts believes: somebody was quicker."""


@transaction.atomic
def piece_begin(
    *, maker: Person, title: str, sequence: str, wanted_by: date | None = None
) -> Piece:
    """A new piece with the steps that it is to go."""
    piece = Piece(title=title, maker=maker)
    piece.full_clean()
    piece.save()
    steps_begin(piece=piece, sequence=sequence, wanted_by=wanted_by)
    return piece


@transaction.atomic
def steps_begin(*, piece: Piece, sequence: str, wanted_by: date | None = None) -> list[PieceStep]:
    """The steps of a ready-made sequence, the last of them wanted by that day. What the piece was
    fired for before is done."""
    _piece_locked(piece.pk)
    if piece.steps.exists():
        raise StepMovedOnError("This piece has steps already; add to them.", code="begun")
    kinds = SEQUENCES[sequence]
    made = []
    for position, kind in enumerate(kinds, start=1):
        by = wanted_by if position == len(kinds) else None
        made.append(_made(PieceStep(piece=piece, position=position, kind=kind, wanted_by=by)))
    _settle(piece.pk, also_past=True)
    return made


@transaction.atomic
def step_add(*, piece: Piece, **facts: Any) -> PieceStep:
    """A step after all others."""
    _piece_locked(piece.pk)
    last = piece.steps.order_by("-position").first()
    step = _made(PieceStep(piece=piece, position=1 if last is None else last.position + 1, **facts))
    _settle(piece.pk)
    return step


@transaction.atomic
def step_again(*, step: PieceStep) -> PieceStep:
    """The same once more, right after it: it went short, or was stopped."""
    steps = _steps_locked(step.piece_id)
    place = _place_of(step, steps)
    stands = steps[place]
    if stands.standing not in (StepStanding.DONE, StepStanding.STOPPED):
        raise StepMovedOnError("It is still to be done; there is nothing to repeat.", code="open")
    later = steps[place + 1 :]
    if later and later[0].kind == stands.kind and later[0].standing not in ENDED:
        raise StepMovedOnError("It is to be done again already.", code="again")
    again = PieceStep(
        piece=stands.piece, kind=stands.kind, schedule=stands.schedule, wanted=stands.wanted
    )
    again.position = stands.position + 1
    for each in reversed(later):
        each.position += 1
        each.save(update_fields=["position"])
    _made(again)
    _settle(step.piece_id)
    return again


@transaction.atomic
def step_change(*, step: PieceStep, changes: dict[str, Any]) -> PieceStep:
    """Other facts of a step that is still to come; in a load its kind stays."""
    stands = _standing_locked(step)
    if stands.standing in ENDED:
        raise StepMovedOnError(_told(stands), code="ended")
    if "kind" in changes and stands.standing not in MAY_BE_FIRED:
        raise ValidationError({"kind": "The piece is in a load for it; take it out first."})
    for name, value in changes.items():
        setattr(stands, name, value)
    stands.full_clean()
    stands.save()
    _settle(step.piece_id)
    return stands


@transaction.atomic
def step_move(*, step: PieceStep, earlier: bool) -> None:
    """Changes places with the step before it or after it that is still to come."""
    steps = [each for each in _steps_locked(step.piece_id) if each.standing not in ENDED]
    place = _place_of(step, steps)
    other = place - 1 if earlier else place + 1
    if not 0 <= other < len(steps):
        return
    one, two = steps[place], steps[other]
    one.position, two.position = two.position, one.position
    for each in (one, two):
        each.save(update_fields=["position"])


@transaction.atomic
def step_done(*, step: PieceStep, by: Person, done_on: date, **sizes: float | None) -> PieceStep:
    """Work outside a kiln, done, with what was measured after; or a firing that was stopped early
    and will do all the same."""
    stands = _standing_locked(step)
    if stands.standing in ENDED:
        raise StepMovedOnError(_told(stands), code="ended")
    if not stands.is_outside and stands.standing != StepStanding.STOPPED:
        raise ValidationError(
            "A firing does this step: it is done once its kiln is opened.", code="firing"
        )
    if done_on > timezone.localdate():
        raise ValidationError({"done_on": "This day is still to come."})
    _refuse_growing(stands, by, sizes)
    stands.done_on, stands.done_by = done_on, by
    for name, value in sizes.items():
        setattr(stands, name, value)
    stands.full_clean()
    stands.save()
    return stands


@transaction.atomic
def step_skip(*, step: PieceStep, reason: str) -> PieceStep:
    stands = _standing_locked(step)
    if stands.standing not in MAY_BE_FIRED:
        raise StepMovedOnError(_told(stands), code="ended")
    if not reason:
        raise ValidationError({"skipped_because": "Write why it is skipped."})
    stands.skipped_because = reason
    stands.full_clean()
    stands.save()
    return stands


@transaction.atomic
def step_reopen(*, step: PieceStep) -> PieceStep:
    """What was skipped, or noted as done by hand, is to be done after all."""
    stands = _standing_locked(step)
    if not stands.skipped_because and stands.done_on is None:
        raise StepMovedOnError(_told(stands), code="open")
    stands.skipped_because, stands.done_on, stands.done_by = "", None, None
    stands.save()
    _settle(step.piece_id)
    return stands


@transaction.atomic
def step_wait(*, step: PieceStep, by: Person) -> WaitingPiece:
    """The piece, on the list of those that wait for a kiln, with what is on record of it now.

    `ValidationError` at the fields of a wait that nobody knows yet.
    """
    stands = _standing_locked(step)
    if stands.is_outside:
        raise ValidationError("This step needs no kiln.", code="outside")
    if stands.standing not in MAY_BE_FIRED:
        raise StepMovedOnError(_told(stands), code="ended")
    facts = piece_on_record(stands.piece, by).facts
    return piece_wait(
        maker=stands.piece.maker,
        piece=stands.piece,
        process=stands.kind,
        wanted=stands.wanted,
        wanted_by=stands.wanted_by,
        **facts,
    )


def _refuse_growing(step: PieceStep, by: Person, sizes: dict[str, float | None]) -> None:
    """Work outside a kiln takes glass away."""
    now = piece_on_record(step.piece, by).now
    if now is None:
        return
    thickness, thickest = sizes.get("thickness_after_mm"), now.thickest
    if not cut_fits(now, sizes.get("length_after_mm"), sizes.get("width_after_mm")):
        size = f"{number(now.length or 0, 1)} × {number(now.width or 0, 1)}{NO_BREAK}mm"
        raise ValidationError({"length_after_mm": f"It is {size} now; no more comes of it."})
    if thickness is not None and thickest is not None and thickness > thickest:
        words = f"It is {number(thickest, 1)}{NO_BREAK}mm thick now; this work adds none."
        raise ValidationError({"thickness_after_mm": words})


def step_unload(*, loaded: LoadedPiece) -> None:
    """What is taken out of a load does no step."""
    for step in PieceStep.objects.filter(loaded=loaded):
        step.loaded = None
        step.save(update_fields=["loaded"])


def steps_follow(*, pieces: Iterable[int]) -> None:
    """Steps of these pieces are done by the loads in which they lie now."""
    planned = PieceStep.objects.filter(piece__in=pieces).order_by("piece_id")
    for piece in list(planned.values_list("piece_id", flat=True).distinct()):
        with transaction.atomic():
            _piece_locked(piece)
            _settle(piece)


def _settle(piece: int, *, also_past: bool = False) -> None:
    """Loads that do no step yet, each to the first step of its process that is still to be fired.

    A load opened before a step was planned did not do it, unless `also_past`: then whatever the
    piece was fired for counts. One firing at a time: while a step is in a load, the next one of its
    process waits.
    """
    steps = list(PieceStep.objects.with_standing().filter(piece=piece).order_by("position", "pk"))
    for step in steps:
        if step.loaded_id is not None and step.standing == StepStanding.OPEN:
            step.loaded = None  # called off, or fired by a schedule of another process now
            step.save(update_fields=["loaded"])
    for loaded in _free_loads(piece):
        process, firing = loaded.firing.revision.schedule.process, loaded.firing
        next_one = next(
            (each for each in steps if each.kind == process and each.standing not in ENDED), None
        )
        if next_one is None or next_one.standing not in MAY_BE_FIRED:
            continue
        is_past = firing.state == FiringState.OPENED and firing.made_at < next_one.made_at
        if is_past and not also_past:
            continue
        next_one.loaded = loaded
        next_one.save(update_fields=["loaded"])
        next_one.standing = _LOADED_AS[FiringState(firing.state)]


_LOADED_AS = {
    FiringState.PLANNED: StepStanding.IN_LOAD,
    FiringState.FIRING: StepStanding.IN_KILN,
    FiringState.OPENED: StepStanding.DONE,
}


def _free_loads(piece: int) -> list[LoadedPiece]:
    stopped = LoadedPiece.objects.filter(firing__events__kind=EventKind.STOPPED_EARLY)
    loads = (
        LoadedPiece.objects.filter(piece=piece, step=None)
        .exclude(firing__state=FiringState.CALLED_OFF)
        .exclude(pk__in=stopped.values("pk"))
        .select_related("firing__revision__schedule")
    )
    return sorted(
        loads,
        key=lambda each: (
            each.firing.started_at is None,
            each.firing.started_at or _NEVER,
            each.pk,
        ),
    )


_NEVER = datetime.max.replace(tzinfo=UTC)


def _made(step: PieceStep) -> PieceStep:
    step.full_clean()
    step.save()
    return step


def _piece_locked(piece: int) -> Piece:
    return Piece.objects.select_for_update().get(pk=piece)


def _steps_locked(piece: int) -> list[PieceStep]:
    """All of a piece, in order, under the lock of its row."""
    _piece_locked(piece)
    steps = PieceStep.objects.with_standing().filter(piece=piece)
    return list(
        steps.select_related("piece__maker", "schedule", "loaded__firing").order_by(
            "position", "pk"
        )
    )


def _standing_locked(step: PieceStep) -> PieceStep:
    steps = _steps_locked(step.piece_id)
    return steps[_place_of(step, steps)]


def _place_of(step: PieceStep, steps: Sequence[PieceStep]) -> int:
    for place, each in enumerate(steps):
        if each.pk == step.pk:
            return place
    raise StepMovedOnError("This step was ended meanwhile.", code="ended")


def _told(step: PieceStep) -> str:
    kind = step.get_kind_display().capitalize()
    if step.standing == StepStanding.DONE:
        day = step.done_on
        if day is None and step.loaded is not None and step.loaded.firing.opened_at is not None:
            day = timezone.localdate(step.loaded.firing.opened_at)
        return f"{kind} was done already{f', on {day.day} {day:%b %Y}' if day else ''}."
    if step.standing == StepStanding.SKIPPED:
        return f"{kind} was skipped already: {step.skipped_because}"
    if step.standing == StepStanding.IN_LOAD:
        return f"{kind}: the piece lies in a load for it."
    if step.standing == StepStanding.IN_KILN:
        return f"{kind}: the piece is in the kiln."
    return f"{kind} is still to be done."
