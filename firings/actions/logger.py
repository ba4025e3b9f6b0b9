"""Makes the tokens with which loggers send readings, takes them back, and knows them again."""

from django.db import transaction
from django.utils import timezone
from django.views.decorators.debug import sensitive_variables

from firings.models import LoggerToken
from studio import tokens
from studio.models import Kiln, Person


@sensitive_variables("secret")
@transaction.atomic
def logger_token_make(*, kiln: Kiln, by: Person, name: str) -> tuple[LoggerToken, str]:
    """A token of a kiln, and what the logger is given: it is kept nowhere.

    Raises `ValidationError` where the kiln has a logger of that name.
    """
    secret = tokens.new_secret()
    token = LoggerToken(kiln=kiln, name=name, digest=tokens.digest(secret), made_by=by)
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


@sensitive_variables("given", "parts")
def logger_token_of(given: str) -> LoggerToken | None:
    """The token that a logger was given; None for one that never was, or was taken back."""
    parts = tokens.number_and_secret(given)
    if parts is None:
        return None
    token = LoggerToken.objects.filter(pk=parts[0], taken_back_at=None).first()
    same = tokens.is_secret_of(parts[1], None if token is None else token.digest)
    return token if same else None
