from django.conf import settings
from django.db import models


class FormReceipt(models.Model):
    """One form that was taken, so that the same form sent twice never makes a second record."""

    key = models.UUIDField(unique=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    location = models.CharField(max_length=400)
    taken_at = models.DateTimeField(auto_now_add=True, db_index=True)

    def __str__(self) -> str:
        return f"{self.key} → {self.location}"
