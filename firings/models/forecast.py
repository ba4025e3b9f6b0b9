from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.load import VerdictValue
from firings.models.record import Firing
from schedules.models import Revision
from studio.models import Kiln


class AdviceAction(models.TextChoices):
    CHANGE = "change", "change"
    UNCHANGED = "unchanged", "fire it again unchanged"
    LOOK_ELSEWHERE = "look_elsewhere", "look elsewhere first"


class Forecast(models.Model):
    """A next-time note as it was given: what it advised, and how likely it said each verdict is.

    One ledger for each schedule in each kiln: a later one follows, and none is ever changed.
    `chances_now` are of the five verdicts, from well short to well past, with the revision as it
    stood; `chances_then` with the change. They are empty where heat work says nothing.
    """

    firing = models.ForeignKey(Firing, models.PROTECT, related_name="forecasts")
    revision = models.ForeignKey(Revision, models.PROTECT, related_name="forecasts")
    kiln = models.ForeignKey(Kiln, models.PROTECT, related_name="forecasts")
    action = models.CharField(max_length=14, choices=AdviceAction)
    peak_delta_c = models.FloatField(default=0.0)
    hold_delta_s = models.FloatField(default=0.0)
    chance_now = models.FloatField(null=True, blank=True)
    chance_then = models.FloatField(null=True, blank=True)
    chances_now = models.JSONField(default=list, blank=True)
    chances_then = models.JSONField(default=list, blank=True)
    rests_on = models.ManyToManyField(Firing, related_name="+")
    given_at = models.DateTimeField(default=timezone.now, editable=False)
    inputs = models.CharField(max_length=64, blank=True, editable=False)

    class Meta:
        ordering = ["-given_at", "-pk"]
        indexes = [models.Index(fields=["kiln", "given_at"], name="forecasts_of_a_kiln")]
        constraints = [
            models.CheckConstraint(
                condition=Q(action__in=AdviceAction.values), name="known_advice_action"
            ),
            models.CheckConstraint(
                condition=Q(chance_now__isnull=True, chance_then__isnull=True)
                | Q(chance_now__range=(0, 1), chance_then__range=(0, 1)),
                name="both_chances_or_none",
            ),
            models.CheckConstraint(
                condition=Q(peak_delta_c=0) | Q(hold_delta_s=0), name="peak_or_hold_never_both"
            ),
        ]

    def __str__(self) -> str:
        return f"forecast of {self.given_at:%d %b %Y} for {self.revision}"

    @property
    def is_change(self) -> bool:
        return self.action == AdviceAction.CHANGE


class FiredAs(models.TextChoices):
    """What the firing did that came after a forecast."""

    AS_ADVISED = "as_advised", "the change that it advised"
    AS_IT_STOOD = "as_it_stood", "unchanged"
    OTHERWISE = "otherwise", "something else"
    MISSED = "missed", "the kiln missed its plan"
    BROKEN_OFF = "broken_off", "it was broken off"


class ForecastScore(models.Model):
    """A judged firing beside the forecast that stood at its start; made anew with what it is of."""

    firing = models.OneToOneField(
        Firing, models.CASCADE, primary_key=True, related_name="forecast_score"
    )
    forecast = models.ForeignKey(Forecast, models.CASCADE, related_name="scores")
    fired = models.CharField(max_length=12, choices=FiredAs)
    verdict = models.SmallIntegerField(choices=VerdictValue)

    class Meta:
        ordering = ["firing"]
        constraints = [
            models.CheckConstraint(condition=Q(fired__in=FiredAs.values), name="known_fired_as"),
            models.CheckConstraint(
                condition=Q(verdict__range=(-2, 2)), name="known_scored_verdict"
            ),
        ]

    def __str__(self) -> str:
        return f"firing {self.firing_id} against {self.forecast}"

    @property
    def came(self) -> bool:
        return self.verdict == VerdictValue.AS_WANTED

    @property
    def chances(self) -> list[float]:
        """Of the five verdicts, for what was fired; empty where they were not kept."""
        if self.fired == FiredAs.AS_ADVISED:
            return list(self.forecast.chances_then)
        return list(self.forecast.chances_now) if self.fired == FiredAs.AS_IT_STOOD else []

    @property
    def chance(self) -> float | None:
        """Of "as wanted", for what was fired; None where the forecast isn't scored by it.

        A note that looks elsewhere asks for something else to be mended first, so it foretells
        nothing of a firing with the schedule as it stood.
        """
        if self.forecast.action == AdviceAction.LOOK_ELSEWHERE:
            return None
        if self.fired == FiredAs.AS_ADVISED:
            return self.forecast.chance_then
        return self.forecast.chance_now if self.fired == FiredAs.AS_IT_STOOD else None
