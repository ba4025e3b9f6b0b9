"""The first visitor of a new studio makes the keeper's account, known by a one-time code."""

import secrets

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.crypto import constant_time_compare, salted_hmac

from studio.models import FirstVisitCode, Person, Role, Studio

LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"  # none that is read as another
GROUPS, GROUP_LENGTH = 3, 4
MOST_WRONG_TRIES = 5


def code_make() -> str:
    """A new code for the console, such as K7QF-3M2X-WD8A; only its hash is kept."""
    code = "-".join(
        "".join(secrets.choice(LETTERS) for _ in range(GROUP_LENGTH)) for _ in range(GROUPS)
    )
    with transaction.atomic():
        FirstVisitCode.objects.all().delete()
        FirstVisitCode.objects.create(code_hash=_hash(code))
    return code


def keeper_make(
    *,
    code: str,
    name: str,
    sign_in_name: str,
    password: str,
    studio_name: str,
    time_zone: str,
    unit: str = "C",
    email: str = "",
) -> Person:
    """The keeper's account and the studio's name, or a ValidationError that says why not."""
    with transaction.atomic():
        refusal = _refusal(code)
        if refusal is None:
            studio = Studio.current()
            studio.name, studio.time_zone = studio_name, time_zone
            studio.full_clean()
            studio.save()
            keeper = Person(
                name=name, sign_in_name=sign_in_name, email=email, unit=unit, role=Role.KEEPER
            )
            keeper.set_password(password)
            keeper.full_clean()
            keeper.save()
            FirstVisitCode.objects.all().delete()
            return keeper
    raise refusal  # outside the transaction: the wrong try stays counted


def _refusal(code: str) -> ValidationError | None:
    kept = FirstVisitCode.objects.select_for_update().first()
    if Person.objects.exists():
        return ValidationError("This studio has its keeper already.", code="taken")
    if kept is None or kept.wrong_tries >= MOST_WRONG_TRIES:
        return ValidationError(
            {"code": "No code is valid now. Restart the site: it prints a new one."}
        )
    if not constant_time_compare(kept.code_hash, _hash(code)):
        kept.wrong_tries += 1
        kept.save(update_fields=["wrong_tries"])
        return ValidationError(
            {"code": "That is not the code on the console. After five wrong tries it is void."}
        )
    return None


def _hash(code: str) -> str:
    letters = "".join(c for c in code.upper() if c.isalnum())
    return salted_hmac("studio.first_visit", letters, algorithm="sha256").hexdigest()
