"""The code of a printed label, short enough to print and too long to guess; and lots' labels."""

import secrets

from django.db import models

from studio.models.stock import GlassLot

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


class LotLabel(HasCode):
    """The label of a lot of glass; all of its pieces carry the same code."""

    lot = models.OneToOneField(GlassLot, models.CASCADE, related_name="label", editable=False)

    class Meta:
        ordering = ["pk"]
