from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from schedules.models.schedule import Revision
from studio.models import Kiln

MOST_SLOTS = 500


class MemorySlot(models.Model):
    """What somebody keyed into one memory slot of a kiln's controller, until it is keyed anew.

    Rows are kept: what a slot held before is told by those that were replaced. Without a revision
    the slot holds a program that is not on record.
    """

    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="keyed_slots")
    slot = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(MOST_SLOTS)]
    )
    revision = models.ForeignKey(
        Revision, models.PROTECT, null=True, blank=True, related_name="keyed_slots"
    )
    keyed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    keyed_at = models.DateTimeField(default=timezone.now, editable=False)
    replaced_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        ordering = ["slot", "-keyed_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["kiln", "slot"],
                condition=Q(replaced_at=None),
                name="one_program_a_slot",
            ),
            models.CheckConstraint(
                condition=Q(replaced_at=None) | Q(replaced_at__gte=F("keyed_at")),
                name="slot_replaced_after_it_was_keyed",
            ),
        ]

    def __str__(self) -> str:
        return f"slot {self.slot} of {self.kiln}"
