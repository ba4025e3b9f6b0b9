from typing import ClassVar, Self

from django.conf import settings
from django.db import models
from django.db.models import Case, Exists, F, OuterRef, Q, Value, When
from django.utils import timezone

from firings.models.load import MILLIMETRES, THICKNESS, LoadedPiece, Piece
from firings.models.record import EventKind, FiringEvent, FiringState
from schedules.models import Process, Schedule
from studio.models.trail import Trail


class OutsideWork(models.TextChoices):
    """What is done to a piece between its firings."""

    CUT = "cut", "cut"
    COLDWORK = "coldwork", "coldwork, polish"


STEP_KINDS = [*Process.choices, *OutsideWork.choices]


class StepStanding(models.TextChoices):
    OPEN = "open", "open"
    IN_LOAD = "in_load", "in a load"
    IN_KILN = "in_kiln", "in the kiln"
    STOPPED = "stopped", "stopped early"
    DONE = "done", "done"
    SKIPPED = "skipped", "skipped"


ENDED = (StepStanding.DONE, StepStanding.SKIPPED)
MAY_BE_FIRED = (StepStanding.OPEN, StepStanding.STOPPED)


class StepQuerySet(models.QuerySet["PieceStep"]):
    def with_standing(self) -> Self:
        """Each with its `standing`. A step of a kiln is done by the firing that it was loaded into:
        it is read from that firing, so that it can't say otherwise."""
        loaded_for_it = Q(loaded__firing__revision__schedule__process=F("kind"))
        stopped = FiringEvent.objects.filter(
            firing=OuterRef("loaded__firing"), kind=EventKind.STOPPED_EARLY
        )
        opened = loaded_for_it & Q(loaded__firing__state=FiringState.OPENED)
        asked = [
            (~Q(skipped_because=""), StepStanding.SKIPPED),
            (Q(done_on__isnull=False), StepStanding.DONE),
            (opened & Exists(stopped), StepStanding.STOPPED),
            (opened, StepStanding.DONE),
            (loaded_for_it & Q(loaded__firing__state=FiringState.FIRING), StepStanding.IN_KILN),
            (loaded_for_it & Q(loaded__firing__state=FiringState.PLANNED), StepStanding.IN_LOAD),
        ]
        return self.annotate(
            standing=Case(
                *[When(condition, Value(word)) for condition, word in asked],
                default=Value(StepStanding.OPEN),
                output_field=models.CharField(),
            )
        )

    def still_to_do(self) -> Self:
        """Those that are neither done nor skipped, each with its `standing`."""
        return self.with_standing().exclude(standing__in=ENDED)


class PieceStep(models.Model):
    """One step of the way that a piece is to go: a firing, or work outside a kiln.

    `loaded` is the load that does it, set when the piece is put into one. Positions are kept in
    order under the lock of the piece's row, and may have gaps.
    """

    piece = models.ForeignKey(Piece, models.CASCADE, related_name="steps")
    position = models.PositiveIntegerField(editable=False)
    kind = models.CharField("what is done", max_length=16, choices=STEP_KINDS)
    schedule = models.ForeignKey(
        Schedule, models.PROTECT, null=True, blank=True, related_name="piece_steps"
    )
    wanted = models.CharField("what is wanted", max_length=200, blank=True)
    wanted_by = models.DateField("wanted by", null=True, blank=True)
    loaded = models.OneToOneField(
        LoadedPiece,
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="step",
        editable=False,
        verbose_name="fired in",
    )
    done_on = models.DateField("done on", null=True, blank=True)
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, editable=False, related_name="+"
    )
    length_after_mm = models.FloatField(
        "length after, mm", null=True, blank=True, validators=MILLIMETRES
    )
    width_after_mm = models.FloatField(
        "width after, mm", null=True, blank=True, validators=MILLIMETRES
    )
    thickness_after_mm = models.FloatField(
        "thickness after, mm", null=True, blank=True, validators=THICKNESS
    )
    skipped_because = models.CharField("why it is skipped", max_length=200, blank=True)
    made_at = models.DateTimeField(default=timezone.now, editable=False)
    standing: str
    """A `StepStanding`, of rows that come from `with_standing`."""

    # The trail of a firing has what was loaded into it.
    trail = Trail(part_of="piece", without=("made_at", "loaded"))
    objects: ClassVar[StepQuerySet] = StepQuerySet.as_manager()  # type: ignore[assignment]

    class Meta:
        ordering = ["piece_id", "position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(done_on=None, done_by=None)
                | Q(done_on__isnull=False, done_by__isnull=False, skipped_because=""),
                name="step_done_by_somebody_or_skipped",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=[code for code, _ in STEP_KINDS]), name="known_step"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.piece}"

    @property
    def is_outside(self) -> bool:
        return self.kind in OutsideWork.values
