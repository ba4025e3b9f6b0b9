"""What a printed label of a kiln or of a piece leads to, by its code."""

from django.db import models
from django.db.models import Q

from firings.models.load import Piece
from studio.models import HasCode, Kiln


class Label(HasCode):
    """The label of a kiln or of a piece."""

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
