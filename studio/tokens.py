"""Long random tokens for things that act by themselves. They are given once; a row keeps a digest.

What is given is “number.secret”: the row is found by its number, and known by the secret.
"""

import hashlib
import hmac
import secrets

from django.views.decorators.debug import sensitive_variables

SECRET_BYTES = 32


def new_secret() -> str:
    return secrets.token_urlsafe(SECRET_BYTES)


@sensitive_variables("given", "secret")
def number_and_secret(given: str) -> tuple[int, str] | None:
    """The two parts of what was given; None where it can be no token."""
    number, _, secret = given.partition(".")
    if not (number.isascii() and number.isdecimal() and len(number) <= 18 and secret):
        return None
    return int(number), secret


@sensitive_variables("secret")
def digest(secret: str) -> str:
    """A secret of 256 random bits needs no slow hashing: nobody guesses it."""
    return hashlib.sha256(secret.encode()).hexdigest()


@sensitive_variables("secret")
def is_secret_of(secret: str, kept: str | None) -> bool:
    """Whether `kept` is its digest; takes as long where there is none."""
    return hmac.compare_digest(digest(secret), digest("") if kept is None else kept)
