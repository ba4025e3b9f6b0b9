"""The code of a printed label: short enough to print, too long to guess."""

import secrets

from django.db import models

SIGNS = "23456789abcdefghjkmnpqrstuvwxyz"
"""No sign that is taken for another when it is keyed from a worn label."""
CODE_LENGTH = 10


def new_code() -> str:
    return "".join(secrets.choice(SIGNS) for _ in range(CODE_LENGTH))


class HasCode(models.Model):
    """Mixin for the label of a thing; its code stays, because it is stuck on."""

    code = models.CharField(max_length=16, unique=True, default=new_code, editable=False)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"label {self.code}"
