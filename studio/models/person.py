from datetime import timedelta
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.core import signing
from django.core.validators import RegexValidator
from django.db import models
from django.db.models.functions import Lower
from django.utils import timezone

from studio.models.choices import Unit
from studio.models.trail import Trail

INVITATION_SALT = "studio.invitation"
INVITATION_DAYS = 14
NOT_RIGHTS = ("sign_in_name", "name", "email", "unit", "joined_at", "password", "last_login")
"""What the trail of a person leaves out: it tells of rights alone, and names nobody."""


class Role(models.TextChoices):
    KEEPER = "keeper", "keeper"
    INSTRUCTOR = "instructor", "instructor"
    ARTIST = "artist", "artist"
    STUDENT = "student", "student"


class PersonManager(BaseUserManager["Person"]):
    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(sign_in_name__iexact=Person.normalize_username(username))


class Person(AbstractBaseUser):
    """Someone of the studio, who signs in by a short name."""

    sign_in_name = models.CharField(
        max_length=40,
        validators=[RegexValidator(r"^[\w.-]+$", "Use letters, digits, dots and dashes only.")],
        help_text="Letters, digits, dots and dashes; capitals make no difference.",
    )
    name = models.CharField(max_length=80, help_text="As others in the studio read it.")
    email = models.EmailField("e-mail", blank=True)
    role = models.CharField(max_length=12, choices=Role, default=Role.ARTIST)
    unit = models.CharField("reads temperatures in", max_length=1, choices=Unit, default="C")
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(default=timezone.now, editable=False)

    at_device: "Person | None" = None
    """While they save on a studio device, its reader: they see what it sees (`studio.access`)."""

    USERNAME_FIELD = "sign_in_name"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    objects = PersonManager()
    trail = Trail(without=NOT_RIGHTS)

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "people"
        constraints = [
            models.UniqueConstraint(
                Lower("sign_in_name"),
                name="one_person_a_sign_in_name",
                violation_error_message="Someone here signs in by that name already.",
            ),
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="known_role"),
            models.CheckConstraint(
                condition=models.Q(unit__in=Unit.values), name="person_reads_c_or_f"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def normalize_username(cls, username: Any) -> Any:
        """In small letters: SQLite folds no others than a to z when it compares."""
        normal = super().normalize_username(username)
        return normal.lower() if isinstance(normal, str) else normal


class Invitation(models.Model):
    """A link that lets one person make an account; signed, used once, and it expires."""

    role = models.CharField(max_length=12, choices=Role, default=Role.STUDENT)
    invited_for = models.CharField(
        "for whom", max_length=80, help_text="A name, so that you know later whom you invited."
    )
    email = models.EmailField("e-mail", blank=True)
    teaching_class = models.ForeignKey(
        "studio.TeachingClass",
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="invitations",
        verbose_name="joins the class",
    )
    invited_by = models.ForeignKey(Person, models.PROTECT, related_name="invitations_made")
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    expires_at = models.DateTimeField(editable=False)
    used_by = models.OneToOneField(
        Person, models.PROTECT, null=True, related_name="invitation", editable=False
    )
    withdrawn_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"invitation for {self.invited_for}"

    def save(self, *args: object, **kwargs: object) -> None:
        if self.expires_at is None:
            self.expires_at = self.made_at + timedelta(days=INVITATION_DAYS)
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    @property
    def token(self) -> str:
        return signing.Signer(salt=INVITATION_SALT).sign_object(self.pk)

    @property
    def is_open(self) -> bool:
        return (
            self.used_by_id is None
            and self.withdrawn_at is None
            and self.expires_at > timezone.now()
        )


class FirstVisitCode(models.Model):
    """The one-time code, printed on the console, by which a new studio's first visitor is known."""

    code_hash = models.CharField(max_length=128)
    made_at = models.DateTimeField(default=timezone.now)
    wrong_tries = models.PositiveSmallIntegerField(default=0)

    def __str__(self) -> str:
        return f"first-visit code of {self.made_at:%Y-%m-%d %H:%M}"
