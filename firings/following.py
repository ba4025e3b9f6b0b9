"""What follows among firings when something of the studio changes."""

from typing import Any

from django.db.models.signals import post_save
from django.dispatch import receiver

from firings.actions.recording import series_follow_glass
from studio.models import GlassFamily


@receiver(post_save, sender=GlassFamily)
def family_changed(instance: GlassFamily, created: bool, raw: bool = False, **_: Any) -> None:
    """A glass of another viscosity had another heat work in each of its firings."""
    if not created and not raw:
        series_follow_glass(family=instance)
