"""Who holds a kiln when, and the addresses at which a calendar reads it."""

import secrets
import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from firings.models.record import Firing
from studio.models import Kiln


class Booking(models.Model):
    """The time for which a firing holds its kiln: from its start until it can be opened.

    It follows its firing (`firings.actions.booking`); what is cancelled stays, so that calendars
    that read it are told.
    """

    firing = models.OneToOneField(Firing, models.CASCADE, primary_key=True, related_name="booking")
    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="bookings")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField(
        null=True, blank=True, help_text="Empty while nobody can tell when it will be cool."
    )
    is_cancelled = models.BooleanField(default=False)

    # How calendars know an entry again, and that it changed (RFC 5545, UID and SEQUENCE).
    uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    sequence = models.PositiveIntegerField(default=0, editable=False)
    changed_at = models.DateTimeField(default=timezone.now, editable=False)
    told = models.CharField(max_length=32, blank=True, editable=False)

    class Meta:
        ordering = ["starts_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__isnull=True) | Q(ends_at__gte=F("starts_at")),
                name="a_booking_ends_after_its_start",
            )
        ]
        indexes = [
            models.Index(fields=["kiln", "starts_at"], name="bookings_of_a_kiln"),
            models.Index(fields=["ends_at"], name="bookings_by_end"),
        ]

    def __str__(self) -> str:
        return f"{self.firing} from {self.starts_at:%Y-%m-%d %H:%M}"


def new_token() -> str:
    return secrets.token_urlsafe(32)


class CalendarFeed(models.Model):
    """An address nobody can guess, at which a calendar program reads bookings without signing in:
    those of a kiln, of a person, or of the whole studio.
    """

    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="calendar_feeds"
    )
    kiln = models.ForeignKey(Kiln, models.CASCADE, null=True, blank=True, related_name="+")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, null=True, blank=True, related_name="+"
    )
    token = models.CharField(max_length=64, unique=True, default=new_token, editable=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kiln__isnull=True) | Q(person__isnull=True),
                name="a_feed_is_of_one_thing",
            ),
            models.UniqueConstraint(
                fields=["made_by", "kiln"],
                condition=Q(kiln__isnull=False),
                name="one_feed_of_a_kiln_each",
            ),
            models.UniqueConstraint(
                fields=["made_by", "person"],
                condition=Q(person__isnull=False),
                name="one_feed_of_a_person_each",
            ),
            models.UniqueConstraint(
                fields=["made_by"],
                condition=Q(kiln__isnull=True, person__isnull=True),
                name="one_feed_of_the_studio_each",
            ),
        ]

    def __str__(self) -> str:
        return f"calendar of {self.subject}"

    @property
    def subject(self) -> str:
        """What it is of, in a word or two."""
        if self.kiln is not None:
            return self.kiln.name
        return "the whole studio" if self.person is None else self.person.name
