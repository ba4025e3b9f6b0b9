from django.db import models

from firings.models.record import Firing
from studio.models.list_import import ListImport


class BroughtFiring(models.Model):
    """That a firing was never logged here, but brought in with a list: from which line of which.

    Where only the day is known, the firing starts at noon of it; where nobody noted the opening, it
    is opened at the end of the day on which it began.
    """

    firing = models.OneToOneField(Firing, models.CASCADE, primary_key=True, related_name="brought")
    taken = models.ForeignKey(ListImport, models.PROTECT, related_name="firings")
    line = models.PositiveIntegerField()
    knows_time = models.BooleanField()
    knows_opening = models.BooleanField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"line {self.line} of {self.taken}"
