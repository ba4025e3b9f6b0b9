"""What a printed label leads to, by a code that is short enough to print and too long to guess."""

import secrets

from django.db import models
from django.db.models import Q

from firings.models.load import Piece
from studio.models import Kiln

SIGNS = "23456789abcdefghjkmnpqrstuvwxyz"
"""No sign that is taken for another when it is keyed from a worn label."""
CODE_LENGTH = 10


def new_code() -> str:
    return "".join(secrets.choice(SIGNS) for _ in range(CODE_LENGTH))


class Label(models.Model):
    """The code of a kiln or of a piece; it stays, because it is stuck on."""

    code = models.CharField(max_length=16, unique=True, default=new_code, editable=False)
    kiln = models.OneToOneField(
        Kiln, models.CASCADE, null=True, blank=True, related_name="label", editable=False
    )
    piece = models.OneToOneField(
        Piece, models.CASCADE, null=True, blank=True, related_name="label", editable=False
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kiln__isnull=False, piece__isnull=True)
                | Q(kiln__isnull=True, piece__isnull=False),
                name="a_label_is_of_a_kiln_or_a_piece",
            )
        ]

    def __str__(self) -> str:
        return f"label {self.code}"
