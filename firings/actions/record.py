"""Takes a firing through its states: planned → firing → opened, or called off before it starts.

Each change locks the row and looks at the state again, so that of two people one is told kindly.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.timezone import localtime

from firings.actions.booking import booking_require_free, kiln_take
from firings.actions.class_limits import refuse_outside_class
from firings.actions.glass_use import load_give_back
from firings.actions.learning import kiln_learn_soon
from firings.actions.uncleared import refuse_uncleared
from firings.models import BroughtFiring, Firing, FiringState, StartCheck
from schedules.models import Revision
from studio.models import Kiln, Person

CLOCKS_DIFFER = timedelta(minutes=10)
"""A phone's clock may run ahead of the server's by this much."""

BOOKED = frozenset({"kiln", "revision", "planned_start"})
"""What of a plan moves the time for which it holds a kiln."""

NOW_KNOWN = {"started_at": "knows_time", "opened_at": "knows_opening"}
"""What is known of a firing that was brought in, once somebody says when it was."""

STANDS = {
    FiringState.PLANNED: "This firing has not been started yet.",
    FiringState.FIRING: "This firing was started already, at %(time)s.",
    FiringState.OPENED: "This firing was opened already, at %(time)s.",
    FiringState.CALLED_OFF: "This firing was called off, at %(time)s.",
}


class StateError(ValidationError):
    """The firing stands otherwise than whoever acts believes: somebody was quicker."""

    def __init__(self, firing: Firing) -> None:
        state = FiringState(firing.state)
        since = {
            FiringState.PLANNED: firing.made_at,
            FiringState.FIRING: firing.started_at,
            FiringState.OPENED: firing.opened_at,
            FiringState.CALLED_OFF: firing.called_off_at,
        }[state]
        time = f"{localtime(since):%H:%M on %d %b}" if since else ""
        super().__init__(STANDS[state], params={"time": time}, code="state")


@transaction.atomic
def firing_plan(
    *,
    kiln: Kiln,
    revision: Revision,
    fired_by: Person,
    written_by: Person,
    title: str = "",
    planned_start: datetime | None = None,
    notes: str = "",
    is_private: bool = False,
) -> Firing:
    """A planned firing. `ValidationError` for a kiln out of service and for what no class of its
    student allows, `KilnTakenError` where another firing holds the kiln at the time."""
    kiln = kiln_take(kiln)
    firing = Firing(
        kiln=kiln,
        revision=revision,
        fired_by=fired_by,
        written_by=written_by,
        title=title,
        planned_start=planned_start,
        notes=notes,
        is_private=is_private,
    )
    firing.full_clean()
    refuse_outside_class(firing)
    firing.save()
    booking_require_free(firing=firing, kiln=kiln, field="planned_start")
    return firing


@transaction.atomic
def firing_change(*, firing: Firing, changes: dict[str, Any]) -> Firing:
    """The firing with other facts on its record; its state stays as it is.

    In another kiln its pieces keep the places of the same name; of another revision nothing is
    keyed differently yet. Raises `StateError` when the state is no longer the one that whoever
    wrote the changes saw, and `KilnTakenError` where another firing holds the kiln.
    """
    books = firing.state == FiringState.PLANNED and not BOOKED.isdisjoint(changes)
    if books:  # the kiln's row before the firing's, as whoever starts it does
        _lock_kiln(changes.get("kiln", firing.kiln))
    stands = _locked(firing, FiringState(firing.state))
    if "kiln" in changes and changes["kiln"].pk != stands.kiln_id:
        _move_load(stands, kiln_take(changes["kiln"]))
        kiln_learn_soon(stands.kiln_id)  # the one that it leaves; the other follows its saving
    if "revision" in changes and changes["revision"].pk != stands.revision_id:
        stands.keyed_differences.all().delete()
    for name, value in changes.items():
        setattr(stands, name, value)
    stands.full_clean()
    if books:
        refuse_outside_class(stands)
    stands.save()
    if known := {now: True for name, now in NOW_KNOWN.items() if name in changes}:
        BroughtFiring.objects.filter(firing=stands).update(**known)
    if books:
        # Again, where somebody moved it meanwhile.
        kiln = _lock_kiln(stands.kiln)
        booking_require_free(firing=stands, kiln=kiln, field="planned_start")
    return stands


@transaction.atomic
def firing_start(
    *,
    firing: Firing,
    started_at: datetime | None = None,
    room_temperature_c: float | None = None,
    looked_by: Person | None = None,
    looked_at: Sequence[tuple[str, bool]] = (),
    all_the_same: bool = False,
) -> Firing:
    """The planned firing, now running, with what was looked at before: each line, ticked or not.

    The kiln's row is locked: it takes one firing at a time. Where it would still be taken when
    another is planned, `KilnTakenError`, unless it is started all the same.
    """
    kiln = kiln_take(firing.kiln)
    firing = _locked(firing, FiringState.PLANNED)
    refuse_outside_class(firing)
    refuse_uncleared(firing)
    running = Firing.objects.filter(kiln=kiln, state=FiringState.FIRING).first()
    if running is not None:
        raise ValidationError(
            "%(running)s is still running in %(kiln)s; open it first.",
            params={"running": running, "kiln": kiln},
            code="kiln_taken",
        )
    firing.state = FiringState.FIRING
    firing.started_at = _not_ahead(started_at or timezone.now(), "started_at")
    if room_temperature_c is not None:
        firing.room_temperature_c = room_temperature_c
    firing.full_clean()
    firing.save()
    if not all_the_same:
        booking_require_free(firing=firing, kiln=kiln, field="started_at")
    StartCheck.objects.bulk_create(
        StartCheck(firing=firing, position=place, text=text, is_ticked=ticked, looked_by=looked_by)
        for place, (text, ticked) in enumerate(looked_at, start=1)
    )
    return firing


@transaction.atomic
def firing_open(
    *,
    firing: Firing,
    opened_by: Person,
    opened_at: datetime | None = None,
    opened_temperature_c: float | None = None,
    recorded_peak_c: float | None = None,
    recorded_hold_s: int | None = None,
    recorded_duration_s: int | None = None,
) -> Firing:
    """The running firing, now opened, with what its display had recorded."""
    firing = _locked(firing, FiringState.FIRING)
    firing.state = FiringState.OPENED
    firing.opened_by = opened_by
    firing.opened_at = _not_ahead(opened_at or timezone.now(), "opened_at")
    firing.opened_temperature_c = opened_temperature_c
    firing.recorded_peak_c = recorded_peak_c
    firing.recorded_hold_s = recorded_hold_s
    firing.recorded_duration_s = recorded_duration_s
    firing.full_clean()
    firing.save()
    return firing


@transaction.atomic
def firing_call_off(*, firing: Firing, by: Person, reason: str = "") -> Firing:
    """The planned firing, called off, with its glass on the shelf again; a running one is opened
    instead, with "stopped early"."""
    firing = _locked(firing, FiringState.PLANNED)
    firing.state = FiringState.CALLED_OFF
    firing.called_off_at = timezone.now()
    firing.called_off_reason = reason
    firing.full_clean()
    firing.save()
    load_give_back(loads=firing.load.all(), by=by)
    return firing


def planned_locked(firing: Firing) -> Firing:
    """The row, locked; `StateError` where it isn't planned any more."""
    return _locked(firing, FiringState.PLANNED)


def _locked(firing: Firing, wanted: FiringState) -> Firing:
    locked = Firing.objects.select_for_update().get(pk=firing.pk)
    if locked.state != wanted:
        raise StateError(locked)
    return locked


def _lock_kiln(kiln: Kiln) -> Kiln:
    return Kiln.objects.select_for_update().get(pk=kiln.pk)


def _move_load(firing: Firing, kiln: Kiln) -> None:
    there = {place.name: place for place in kiln.places.all()}
    for loaded in firing.load.select_related("place"):
        if loaded.place is not None:
            loaded.place = there.get(loaded.place.name)
            loaded.save(update_fields=["place"])


def not_ahead(time: datetime) -> datetime:
    """The time of something that has happened; `ValidationError` where it lies ahead."""
    now = timezone.localtime()
    if time > now + CLOCKS_DIFFER:
        raise ValidationError(
            f"This lies in the future: now it is {now:%H:%M} on {now.day} {now:%b %Y}. "
            "Put the day or the time right, or note it once it has happened.",
            code="too_late",
        )
    return time


def _not_ahead(time: datetime, field: str) -> datetime:
    try:
        return not_ahead(time)
    except ValidationError as ahead:
        raise ValidationError({field: ahead}) from ahead
