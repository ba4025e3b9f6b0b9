"""Sends a short mail once what it tells of is sure."""

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction
from django.urls import reverse

from studio.models import Person


def mail_soon(*, to: Person, subject: str, words: str, link: str = "") -> None:
    """A mail to somebody who gave an address, after the transaction; what fails is logged."""
    if not to.email:
        return
    text = f"{words}\n{link}\n" if link else f"{words}\n"

    def send() -> None:  # not a partial: a robust callback is logged by its name
        send_mail(subject, text, None, [to.email])

    transaction.on_commit(send, robust=True)


def site_address(page: str, *args: int) -> str:
    """Of a page, for a mail; empty where nobody told by which address the site is reached."""
    return f"{settings.SITE_ADDRESS}{reverse(page, args=args)}" if settings.SITE_ADDRESS else ""
