"""A kiln that was found running: noted, told to its keeper, and turned into what it was."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from firings.actions.record import planned_locked
from firings.actions.spot_readings import spot_reading_add
from firings.actions.uncleared import uncleared_note
from firings.models import Clearing, Firing, FiringState, UnknownFiring
from schedules.models import Revision
from studio import formats
from studio.actions.mail import mail_soon
from studio.models import Kiln, Person, Role


@transaction.atomic
def unknown_firing_note(
    *, kiln: Kiln, by: Person, seen_c: float, note: str = "", link: str = ""
) -> UnknownFiring:
    """What runs in the kiln without a word; its keepers get a mail that leads to `link`.

    The kiln's row is locked. Somebody who was quicker has noted it: that one is given.
    `ValidationError` where the logbook knows what fires in it.
    """
    kiln = Kiln.objects.select_for_update().get(pk=kiln.pk)
    if Firing.objects.filter(kiln=kiln, state=FiringState.FIRING).exists():
        raise ValidationError(
            f"The logbook knows what fires in {kiln}: note the reading there.", code="is_known"
        )
    standing = UnknownFiring.objects.filter(kiln=kiln, closed_at=None).first()
    if standing is not None:
        return standing
    unknown = UnknownFiring(kiln=kiln, seen_c=seen_c, note=note, noted_by=by)
    unknown.full_clean()
    unknown.save()
    for keeper in Person.objects.filter(role=Role.KEEPER, is_active=True):
        mail_soon(
            to=keeper,
            subject=f"{kiln} is running, and nobody wrote down what",
            words=(
                f"{by} found {kiln} running at {timezone.localtime(unknown.seen_at):%H:%M}; its "
                f"display showed {formats.temperature(seen_c, keeper.unit)}. "
                f"The kiln counts as taken until somebody says what it is:"
            ),
            link=link,
        )
    return unknown


@transaction.atomic
def unknown_firing_become(
    *,
    unknown: UnknownFiring,
    by: Person,
    started_at: datetime,
    planned: Firing | None = None,
    revision: Revision | None = None,
    fired_by: Person | None = None,
    title: str = "",
) -> tuple[Firing, Clearing | None]:
    """The running firing that it was all the while, with the reading that was noted of it: the
    `planned` one, or else a new one of that `revision`; and what is noted where it was not cleared.

    `StateError` where the planned one was started or called off meanwhile.
    """
    kiln = Kiln.objects.select_for_update().get(pk=unknown.kiln_id)
    unknown = _open(unknown)
    if started_at > unknown.seen_at:
        raise ValidationError(
            {"started_at": "It was seen running before that; write an earlier time."}
        )
    if planned is not None:
        firing = planned_locked(planned)
    else:
        firing = Firing(
            kiln=kiln, revision=revision, fired_by=fired_by or by, written_by=by, title=title
        )
    firing.state, firing.started_at = FiringState.FIRING, started_at
    firing.full_clean()
    firing.save()
    _close(unknown, by, became=firing)
    _hand_over_reading(unknown, firing)
    return firing, uncleared_note(firing=firing, by=by)


@transaction.atomic
def unknown_firing_was(*, unknown: UnknownFiring, by: Person, firing: Firing) -> None:
    """That it was this firing, which is over and written down; its reading goes there."""
    unknown = _open(unknown)
    _close(unknown, by, became=firing)
    uncleared_note(firing=firing, by=by)
    if firing.started_at and firing.opened_at:
        if not firing.started_at <= unknown.seen_at <= firing.opened_at:
            return
        _hand_over_reading(unknown, firing)


@transaction.atomic
def unknown_firing_dismiss(*, unknown: UnknownFiring, by: Person, reason: str) -> UnknownFiring:
    """Closed without a firing; the kiln is free again."""
    unknown = _open(unknown)
    return _close(unknown, by, reason=reason)


def _hand_over_reading(unknown: UnknownFiring, firing: Firing) -> None:
    spot_reading_add(
        firing=firing,
        by=unknown.noted_by,
        at=unknown.seen_at,
        temperature_c=unknown.seen_c,
        note=unknown.note,
    )


def _open(unknown: UnknownFiring) -> UnknownFiring:
    locked = UnknownFiring.objects.select_for_update().get(pk=unknown.pk)
    if locked.closed_at is not None:
        raise ValidationError("Somebody said already what it was.", code="closed")
    return locked


def _close(
    unknown: UnknownFiring, by: Person, *, became: Firing | None = None, reason: str = ""
) -> UnknownFiring:
    unknown.became, unknown.reason = became, reason
    unknown.closed_by, unknown.closed_at = by, timezone.now()
    unknown.full_clean()
    unknown.save()
    return unknown
