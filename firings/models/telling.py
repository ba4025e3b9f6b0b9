from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.record import Firing


class Way(models.TextChoices):
    NOT = "not", "don’t tell me"
    PAGE = "page", "on the page"
    MAIL = "mail", "on the page and by e-mail"


class Digest(models.TextChoices):
    NEVER = "never", "don’t mail me"
    DAILY = "daily", "once a day, in one e-mail"


class MessageWish(models.Model):
    """What somebody wants to be told of firings; whoever never chose is told on the page."""

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, models.CASCADE, primary_key=True, related_name="message_wish"
    )
    peak_near = models.CharField(
        "when the top is near", max_length=4, choices=Way, default=Way.PAGE
    )
    falls_behind = models.CharField(
        "when a kiln falls behind its plan", max_length=4, choices=Way, default=Way.PAGE
    )
    cool_enough = models.CharField(
        "when it is cool enough to open", max_length=4, choices=Way, default=Way.PAGE
    )
    to_judge = models.CharField(
        "when a kiln with pieces of mine was opened",
        max_length=4,
        choices=[(Way.PAGE.value, Way.PAGE.label), (Way.MAIL.value, Way.MAIL.label)],
        default=Way.PAGE,
    )
    comments = models.CharField(
        "what is said about firings that concern you",
        max_length=5,
        choices=Digest,
        default=Digest.NEVER,
    )
    of_everybody = models.BooleanField("also of what others fire", default=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    peak_near__in=Way.values,
                    falls_behind__in=Way.values,
                    cool_enough__in=Way.values,
                    to_judge__in=[Way.PAGE, Way.MAIL],
                ),
                name="known_ways_of_telling",
            ),
            models.CheckConstraint(
                condition=Q(comments__in=Digest.values), name="known_digest_of_comments"
            ),
        ]

    def __str__(self) -> str:
        return f"what {self.person} is told"


class MessageKind(models.TextChoices):
    PEAK_NEAR = "peak_near", "the top is near"
    FALLS_BEHIND = "falls_behind", "it falls behind"
    COOL_ENOUGH = "cool_enough", "cool enough to open"
    TO_JUDGE = "to_judge", "opened, with pieces of yours"


class Message(models.Model):
    """One thing that somebody was told of a firing, once; `temperature_c` is what it speaks of,
    None where it speaks of none."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="firing_messages"
    )
    firing = models.ForeignKey(Firing, models.CASCADE, related_name="messages")
    kind = models.CharField(max_length=12, choices=MessageKind)
    told_at = models.DateTimeField(default=timezone.now)
    about_at = models.DateTimeField()
    temperature_c = models.FloatField(null=True)
    by_mail = models.BooleanField(default=False)
    seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-told_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["person", "firing", "kind"], name="each_is_told_once_of_a_firing"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=MessageKind.values), name="known_message_kind"
            ),
        ]
        indexes = [models.Index(fields=["person", "seen_at"])]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.firing}"
