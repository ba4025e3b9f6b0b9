"""What follows among firings when something of the studio, or of a recording, changes."""

from typing import Any

from django.db.models.signals import post_delete, post_save, pre_delete
from django.dispatch import receiver

from firings.actions.booking import (
    booking_follow,
    booking_follow_soon,
    kiln_bookings_follow_soon,
)
from firings.actions.energy import energy_keep_soon
from firings.actions.forecasting import forecast_soon
from firings.actions.learning import kiln_learn_soon
from firings.actions.logged_readings import logged_readings_pack
from firings.actions.recording import series_follow_glass, series_follow_plan
from firings.actions.spots import crop_file_remove
from firings.actions.steps import step_unload, steps_follow
from firings.actions.storage import stay_end_fired_again
from firings.actions.waiting import waiting_again, waiting_follow
from firings.actions.watching import alarm_follow
from firings.models import (
    Fault,
    Firing,
    FiringEvent,
    FiringState,
    KeyedDifference,
    LoadedPiece,
    PieceSpot,
    RecordingSeries,
    Review,
    SpotReading,
)
from studio.models import GlassFamily, Kiln, LearntResponse, ServiceEntry


@receiver(post_save, sender=GlassFamily)
def family_changed(instance: GlassFamily, created: bool, raw: bool = False, **_: Any) -> None:
    """A glass of another viscosity had another heat work in each of its firings."""
    if not created and not raw:
        series_follow_glass(family=instance)


@receiver([post_save, post_delete], sender=RecordingSeries)
def recording_changed(instance: RecordingSeries, raw: bool = False, **_: Any) -> None:
    """What a kiln's recordings teach is learnt anew."""
    firing = Firing.objects.filter(pk=instance.pk, state=FiringState.OPENED).first()
    if firing is not None and not raw:
        kiln_learn_soon(firing.kiln_id)
        forecast_soon(firing.pk)
        energy_keep_soon(firing.pk)


@receiver(post_save, sender=Firing)
def firing_changed(instance: Firing, raw: bool = False, **_: Any) -> None:
    """A firing counts once it is opened, in the kiln and for the plan that it is noted with; until
    then it holds its kiln."""
    if not raw:
        booking_follow(firing=instance)
    if instance.state == FiringState.OPENED and not raw:
        logged_readings_pack(firing=instance)
        kiln_learn_soon(instance.kiln_id)
        forecast_soon(instance.pk)
        energy_keep_soon(instance.pk)


@receiver([post_save, post_delete], sender=FiringEvent)
def stop_changed(instance: FiringEvent, raw: bool = False, **_: Any) -> None:
    """A firing that was stopped is compared only so far: its hold at the top may end there."""
    if not raw:
        series_follow_plan(firing=instance.firing)


@receiver([post_save, post_delete], sender=LoadedPiece)
@receiver([post_save, post_delete], sender=KeyedDifference)
@receiver([post_save, post_delete], sender=FiringEvent)
def firing_seen_otherwise(
    instance: LoadedPiece | KeyedDifference | FiringEvent, raw: bool = False, **_: Any
) -> None:
    """A verdict brings the next note, and scores the one before."""
    if not raw:
        forecast_soon(instance.firing_id)


@receiver([post_save, post_delete], sender=SpotReading)
def reading_changed(instance: SpotReading, raw: bool = False, **_: Any) -> None:
    """A kiln above its plan that still climbs is told to everybody."""
    if not raw:
        alarm_follow(firing_id=instance.firing_id)


@receiver([post_save, post_delete], sender=SpotReading)
@receiver([post_save, post_delete], sender=KeyedDifference)
@receiver([post_save, post_delete], sender=FiringEvent)
def course_changed(
    instance: SpotReading | KeyedDifference | FiringEvent, raw: bool = False, **_: Any
) -> None:
    """What is keyed, read and done moves the time at which it can be opened."""
    if not raw:
        booking_follow_soon(instance.firing_id)


@receiver([post_save, post_delete], sender=LearntResponse)
def response_learnt(instance: LearntResponse, raw: bool = False, **_: Any) -> None:
    """What is planned in the kiln holds it for longer, or for less."""
    if not raw:
        kiln_bookings_follow_soon(instance.kiln_id)


@receiver([post_save, post_delete], sender=Fault)
def fault_changed(instance: Fault, raw: bool = False, **_: Any) -> None:
    if not raw:
        forecast_soon(instance.loaded_piece.firing_id)


@receiver(post_save, sender=LoadedPiece)
def piece_loaded(instance: LoadedPiece, created: bool, raw: bool = False, **_: Any) -> None:
    if created and not raw:
        waiting_follow(loaded=instance)
        steps_follow(pieces=[instance.piece_id])
        stay_end_fired_again(piece=instance.piece, by=instance.firing.written_by)


@receiver(pre_delete, sender=LoadedPiece)
def piece_taken_out(instance: LoadedPiece, **_: Any) -> None:
    waiting_again(out_of=[instance])
    step_unload(loaded=instance)


@receiver(post_delete, sender=LoadedPiece)
def piece_was_taken_out(instance: LoadedPiece, **_: Any) -> None:
    """It may lie in another load that does its step now."""
    steps_follow(pieces=[instance.piece_id])


@receiver(post_save, sender=Firing)
def firing_of_steps_changed(instance: Firing, created: bool, raw: bool = False, **_: Any) -> None:
    """By a schedule of another process it does another step; called off, none."""
    if not created and not raw:
        steps_follow(pieces=instance.load.values_list("piece", flat=True))


@receiver(post_save, sender=Firing)
def firing_called_off(instance: Firing, raw: bool = False, **_: Any) -> None:
    if instance.state == FiringState.CALLED_OFF and not raw:
        waiting_again(out_of=instance.load.all())


@receiver(post_save, sender=Review)
def review_changed(instance: Review, raw: bool = False, **_: Any) -> None:
    """An instructor's verdict counts over the maker's."""
    if not raw:
        forecast_soon(instance.loaded_piece.firing_id)


@receiver([post_save, post_delete], sender=ServiceEntry)
def service_changed(instance: ServiceEntry, raw: bool = False, **_: Any) -> None:
    """New elements begin a new count."""
    if not raw:
        kiln_learn_soon(instance.kiln_id)


@receiver(post_save, sender=Kiln)
def kiln_changed(instance: Kiln, created: bool, raw: bool = False, **_: Any) -> None:
    """Learning begins with the kiln's own figures."""
    if not created and not raw:
        kiln_learn_soon(instance.pk)
        kiln_bookings_follow_soon(instance.pk)


@receiver(post_delete, sender=PieceSpot)
def spot_removed(instance: PieceSpot, **_: Any) -> None:
    """Also with its photograph, or with its piece out of the load."""
    crop_file_remove(spot=instance)
