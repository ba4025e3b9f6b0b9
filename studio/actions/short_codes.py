"""Sets short codes, and tells by one who saves on a studio device, within the bounds of guessing.

A try is counted as wrong before it is looked at, under the lock of the device's row, and taken back
when it was right: however many come at once, no more are looked at than the bounds let through. The
slow hash is reckoned outside of the lock, or one guess would hold up all who save.
"""

from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.views.decorators.debug import sensitive_variables

from studio.actions.mail import mail_soon, site_address
from studio.models import Person, PersonAtDevice, SharedDevice, ShortCode
from studio.services.short_codes import LONGEST, SHORTEST, weakness
from studio.services.throttle import Bound, Tries, one_more

A_PERSON = Bound(most=5, wait=timedelta(minutes=15))
"""Wrong codes in one person's name on one device."""
A_DEVICE = Bound(most=20, wait=timedelta(minutes=15), within=timedelta(minutes=15))
"""Wrong codes on one device, in whoever's name; a right one of somebody takes none of them back."""
MOST_IN_A_ROW = 25
"""Wrong codes in one person's name on all devices without a right one between: the code is void.

Of ten thousand codes of four digits a guesser so tries 25, however long they wait.
"""

WEAK = {
    "digits": "A short code is made of digits alone.",
    "length": f"A short code has {SHORTEST} to {LONGEST} digits.",
    "same": "That is one digit over and over; it would be guessed first.",
    "run": "These digits count up or down; that would be guessed first.",
    "repeated": "The second half repeats the first; that would be guessed soon.",
    "year": "That is a year; years would be guessed soon.",
}
WRONG = "That is not the code. Look at the name, and type the code again."


class WaitError(ValidationError):
    """Too many wrong codes: none is looked at for a while."""


@sensitive_variables("code")
@transaction.atomic
def short_code_set(*, person: Person, code: str) -> ShortCode:
    """The person's new code; what was counted against the one before is forgotten."""
    if (weak := weakness(code)) is not None:
        raise ValidationError({"code": ValidationError(WEAK[weak], code=weak)})
    Person.objects.select_for_update().get(pk=person.pk)
    kept = ShortCode.objects.filter(person=person).first() or ShortCode(person=person)
    kept.code_hash, kept.set_at, kept.wrong_in_a_row = _hash(person.pk, code), timezone.now(), 0
    kept.save()
    PersonAtDevice.objects.filter(person=person).update(
        wrong_codes=0, wrong_since=None, locked_until=None, untold_lock_at=None
    )
    return kept


@transaction.atomic
def short_code_take_away(*, person: Person) -> None:
    """Without a code this person saves on no device."""
    for kept in ShortCode.objects.select_for_update().filter(person=person):
        kept.delete()


def locks_known(*, person: Person) -> None:
    """They were told on which devices there were too many wrong codes in their name."""
    PersonAtDevice.objects.filter(person=person).update(untold_lock_at=None)


@sensitive_variables("code", "kept")
def who_saves(*, device: SharedDevice, number: str, code: str) -> Person:
    """The person of this number, if the code is theirs.

    Raises `WaitError` while none is looked at, `ValidationError` for a wrong code; somebody without
    a code, and a number that is nobody's, take as long and are told the same.
    """
    person = _person_of(number)
    has_code = _try_begins(device, person, timezone.now())
    kept = ShortCode.objects.filter(person=person).first() if has_code else None
    if kept is None:
        make_password(_peppered(0, code))
    if person is None or kept is None or not _is_code(kept, code):
        raise _refusal(device, person)
    _try_was_right(device, person)
    return person


def _person_of(number: str) -> Person | None:
    if not (number.isascii() and number.isdecimal() and len(number) <= 18):
        return None
    return Person.objects.filter(pk=int(number), is_active=True).first()


@transaction.atomic
def _try_begins(device: SharedDevice, person: Person | None, now: datetime) -> bool:
    """Whether there is a code to look at."""
    at_device = SharedDevice.objects.select_for_update().get(pk=device.pk)
    of_device = one_more(_tries(at_device), A_DEVICE, now)
    if of_device is None:
        raise _wait(at_device)
    has_code = False
    if person is not None:
        here, _ = PersonAtDevice.objects.get_or_create(device=at_device, person=person)
        of_person = one_more(_tries(here), A_PERSON, now)
        if of_person is None:
            raise _wait(here)
        _keep(here, of_person)
        counted = ShortCode.objects.filter(person=person, wrong_in_a_row__lt=MOST_IN_A_ROW)
        has_code = bool(counted.update(wrong_in_a_row=F("wrong_in_a_row") + 1))
    _keep(at_device, of_device)
    return has_code


@transaction.atomic
def _try_was_right(device: SharedDevice, person: Person) -> None:
    at_device = SharedDevice.objects.select_for_update().get(pk=device.pk)
    tries = _tries(at_device)
    if tries.wrong:  # this one is taken back; what was wrong before it stays counted
        _keep(at_device, Tries(tries.wrong - 1, tries.since if tries.wrong > 1 else None))
    PersonAtDevice.objects.filter(device=at_device, person=person).update(
        wrong_codes=0, wrong_since=None, locked_until=None, saved_at=timezone.now()
    )
    ShortCode.objects.filter(person=person).update(wrong_in_a_row=0)


def _tries(row: SharedDevice | PersonAtDevice) -> Tries:
    return Tries(row.wrong_codes, row.wrong_since, row.locked_until)


def _keep(row: SharedDevice | PersonAtDevice, tries: Tries) -> None:
    """By `update`: it is no part of a trail."""
    type(row)._default_manager.filter(pk=row.pk).update(
        wrong_codes=tries.wrong, wrong_since=tries.since, locked_until=tries.locked_until
    )


@transaction.atomic
def _refusal(device: SharedDevice, person: Person | None) -> ValidationError:
    """What is said of a wrong code; the last one that was let through begins the wait."""
    if person is not None:
        here = PersonAtDevice.objects.select_for_update().get(device=device, person=person)
        code = ShortCode.objects.filter(person=person).first()
        is_void = code is not None and code.wrong_in_a_row >= MOST_IN_A_ROW
        if code is not None and is_void:
            # The site does so: nobody who stands at a device is somebody.
            code._history_user = None  # type: ignore[attr-defined]
            code.delete()
        if here.locked_until is not None or is_void:
            _tell(here, is_void=is_void)
        if here.locked_until is not None:
            return _wait(here)
    at_device = SharedDevice.objects.get(pk=device.pk)
    if at_device.locked_until is not None:
        return _wait(at_device)
    return ValidationError(WRONG, code="wrong")


def _wait(row: SharedDevice | PersonAtDevice) -> WaitError:
    until = f"{timezone.localtime(row.locked_until):%H:%M}"
    if isinstance(row, SharedDevice):
        return WaitError(
            f"Too many wrong codes on this device. It takes none until {until}; on your own phone "
            "or computer you can go on."
        )
    return WaitError(
        f"{A_PERSON.most} wrong codes for {row.person.name}. This device takes none for "
        f"{row.person.name} until {until}."
    )


def _tell(here: PersonAtDevice, *, is_void: bool) -> None:
    """Once a wait, on the person's front page and by mail."""
    now = timezone.now()
    known = here.untold_lock_at
    if known is not None and now - known < A_PERSON.wait and not is_void:
        return
    here.untold_lock_at = now
    here.save(update_fields=["untold_lock_at"])
    words = f"On the studio device “{here.device}” there were too many wrong codes in your name."
    then = (
        "Your short code is void now; set a new one on your account page."
        if is_void
        else "If that was not you, set a new short code on your account page."
    )
    mail_soon(
        to=here.person,
        subject="Wrong codes in your name",
        words=f"{words} {then}",
        link=site_address("studio:short_code"),
    )


@sensitive_variables("code")
def _is_code(kept: ShortCode, code: str) -> bool:
    return check_password(_peppered(kept.person_id, code), kept.code_hash)


@sensitive_variables("code")
def _hash(person_id: int, code: str) -> str:
    return make_password(_peppered(person_id, code))


@sensitive_variables("code")
def _peppered(person_id: int, code: str) -> str:
    """Mixed with the secret key first: four digits are soon tried on a copied database alone."""
    return salted_hmac("studio.short_code", f"{person_id}:{code}", algorithm="sha256").hexdigest()
