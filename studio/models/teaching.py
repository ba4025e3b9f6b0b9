"""Classes: who teaches whom, from when to when, and in which kilns up to which temperature."""

import secrets
from datetime import date
from typing import ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from studio.models.kiln import Kiln
from studio.models.person import Person
from studio.models.trail import Trail

# Neither 0 nor O, 1 nor I: a code is read aloud and keyed in with cold hands.
CODE_LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
CODE_LENGTH = 8


def new_joining_code() -> str:
    return "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))


class TeachingClass(models.Model):
    """A class of students with its instructors. What a student makes in it stays the student's."""

    name = models.CharField(max_length=80)
    starts_on = models.DateField("from", default=timezone.localdate)
    ends_on = models.DateField("until", null=True, blank=True)
    note = models.TextField(blank=True, help_text="What its students should know.")
    joining_code = models.CharField(
        max_length=CODE_LENGTH, unique=True, default=new_joining_code, editable=False
    )
    joining_is_open = models.BooleanField(
        "students can join by its code", default=True, help_text="Close it once all are here."
    )
    kilns = models.ManyToManyField(
        Kiln,
        blank=True,
        related_name="classes",
        verbose_name="kilns that its students may use",
        help_text="None ticked: all of them.",
    )
    highest_temperature_c = models.FloatField(
        "highest temperature",
        null=True,
        blank=True,
        validators=[MinValueValidator(100), MaxValueValidator(1300)],
        help_text="What its students plan may not go above it.",
    )
    asks_clearing = models.BooleanField(
        "an instructor clears each firing of its students before the start", default=True
    )
    made_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    instructors = models.ManyToManyField(Person, related_name="classes_taught")

    trail = Trail(without=("joining_code", "made_at"), m2m=("instructors", "kilns"))

    class Meta:
        ordering = ["-starts_on", "name", "pk"]
        verbose_name = "class"
        verbose_name_plural = "classes"
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on=None) | Q(ends_on__gte=F("starts_on")),
                name="a_class_ends_after_its_start",
                violation_error_message="A class can't end before it starts.",
            )
        ]

    def __str__(self) -> str:
        return self.name

    def is_running(self, on: date) -> bool:
        return self.starts_on <= on and (self.ends_on is None or on <= self.ends_on)


class ClassMember(models.Model):
    """A student in a class; whoever left keeps the row, so that their work can still be found."""

    teaching_class = models.ForeignKey(TeachingClass, models.PROTECT, related_name="members")
    person = models.ForeignKey(Person, models.PROTECT, related_name="class_memberships")
    joined_at = models.DateTimeField(default=timezone.now, editable=False)
    left_at = models.DateTimeField(null=True, blank=True, editable=False)

    trail = Trail(part_of="teaching_class", without=("joined_at",))

    class Meta:
        ordering = ["person__name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["teaching_class", "person"], name="once_a_member_of_a_class"
            )
        ]

    def __str__(self) -> str:
        return f"{self.person} in {self.teaching_class}"


class WrongJoiningCode(models.Model):
    """A try at a code that no class has; they are counted, so that nobody guesses one."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="+")
    tried_at = models.DateTimeField(default=timezone.now)

    class Meta:
        indexes = [models.Index(fields=["person", "tried_at"])]

    def __str__(self) -> str:
        return f"wrong code of {self.person} at {self.tried_at:%Y-%m-%d %H:%M}"


class RubricCriterion(models.Model):
    """One line of the rubric by which a class's work is marked, from 1 to 4.

    Without a class it is the studio's, with which a new class begins.
    """

    teaching_class = models.ForeignKey(
        TeachingClass, models.CASCADE, null=True, blank=True, related_name="criteria"
    )
    FIRST: ClassVar[list[tuple[str, str]]] = [
        ("preparation", "cut, clean, dry, separator and mould ready"),
        ("load", "place, distances, what lies on what"),
        ("schedule", "chosen for this glass and thickness, keyed and read back"),
        ("finish", "edges, surface, what was wanted"),
    ]

    name = models.CharField(max_length=40)
    meaning = models.CharField("what it looks at", max_length=200, blank=True)
    position = models.PositiveSmallIntegerField(default=1)
    retired_at = models.DateTimeField(null=True, blank=True, editable=False)

    trail = Trail(part_of="teaching_class")

    class Meta:
        ordering = ["position", "pk"]
        verbose_name_plural = "rubric criteria"
        constraints = [
            models.UniqueConstraint(
                fields=["teaching_class", "name"],
                condition=Q(retired_at=None),
                name="a_criterion_once_a_class",
            ),
            models.UniqueConstraint(
                fields=["name"],
                condition=Q(retired_at=None, teaching_class=None),
                name="a_criterion_once_in_the_studio_s_rubric",
            ),
        ]

    def __str__(self) -> str:
        return self.name
