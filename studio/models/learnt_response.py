from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from studio.models.kiln import Kiln


class LearntResponse(models.Model):
    """How a kiln heats and cools by its recordings, beside the figures that somebody keyed.

    `covariance` is 4 × 4, of rise, limit and the two cooling constants in °C/h, °C, s, s; `walls`
    the figures of the core's `Walls` by name, empty where they were not learnt yet; `since`
    is the day of the service from which on recordings count; `foretells` whether it tells how long
    its own recordings took at least as well as the keyed figures do; `inputs` names what it was
    learnt from, so that the same is not learnt twice.
    """

    kiln = models.OneToOneField(
        Kiln, models.CASCADE, related_name="learnt_response", primary_key=True
    )
    full_power_limit_c = models.FloatField()
    rise_at_700_c_per_h = models.FloatField()
    cooling_constant_h = models.FloatField()
    slow_cooling_constant_h = models.FloatField(null=True, blank=True)
    covariance = models.JSONField()
    walls = models.JSONField(default=dict, blank=True)
    recordings = models.PositiveSmallIntegerField()
    since = models.DateField(null=True, blank=True)
    foretells = models.BooleanField(default=True)
    learnt_at = models.DateTimeField(default=timezone.now)
    inputs = models.CharField(max_length=64, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(full_power_limit_c__gt=700, rise_at_700_c_per_h__gt=0),
                name="learnt_kiln_rises_at_700",
            ),
            models.CheckConstraint(
                condition=Q(cooling_constant_h__gt=0)
                & (
                    Q(slow_cooling_constant_h__isnull=True)
                    | Q(slow_cooling_constant_h__gte=F("cooling_constant_h"))
                ),
                name="learnt_kiln_cools_no_faster_later",
            ),
            models.CheckConstraint(
                condition=Q(recordings__gt=0), name="learnt_from_one_recording_at_least"
            ),
        ]

    def __str__(self) -> str:
        return f"response of {self.kiln_id} from {self.recordings} recordings"

    @property
    def is_used(self) -> bool:
        """Whether plans use it: nobody set it aside, and it is no worse than the keyed figures."""
        return self.foretells and self.kiln.use_learnt_response
