"""Makes the tokens with which loggers send readings, takes them back, and knows them again."""

import hashlib
import hmac
import secrets

from django.db import transaction
from django.utils import timezone
from django.views.decorators.debug import sensitive_variables

from firings.models import LoggerToken
from studio.models import Kiln, Person

SECRET_BYTES = 32


@sensitive_variables("secret")
@transaction.atomic
def logger_token_make(*, kiln: Kiln, by: Person, name: str) -> tuple[LoggerToken, str]:
    """A token of a kiln, and what the logger is given: it is kept nowhere.

    Raises `ValidationError` where the kiln has a logger of that name.
    """
    secret = secrets.token_urlsafe(SECRET_BYTES)
    token = LoggerToken(kiln=kiln, name=name, digest=_digest(secret), made_by=by)
    token.full_clean()
    token.save()
    return token, f"{token.pk}.{secret}"


@transaction.atomic
def logger_token_take_back(*, token: LoggerToken) -> LoggerToken:
    """The token, good for nothing any more; what it sent stays."""
    locked = LoggerToken.objects.select_for_update().get(pk=token.pk)
    if locked.taken_back_at is None:
        locked.taken_back_at = timezone.now()
        locked.save(update_fields=["taken_back_at"])
    return locked


@sensitive_variables("given", "secret")
def logger_token_of(given: str) -> LoggerToken | None:
    """The token that a logger was given; None for one that never was, or was taken back."""
    number, _, secret = given.partition(".")
    if not (number.isascii() and number.isdecimal() and len(number) <= 18 and secret):
        return None
    token = LoggerToken.objects.filter(pk=int(number), taken_back_at=None).first()
    kept = token.digest if token is not None else _digest("")
    same = hmac.compare_digest(_digest(secret), kept)
    return token if same else None


@sensitive_variables("secret")
def _digest(secret: str) -> str:
    """A secret of 256 random bits needs no slow hashing: nobody guesses it."""
    return hashlib.sha256(secret.encode()).hexdigest()
