from math import ceil

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from firings.models.record import Firing
from studio.models import GlassKind, KilnFurniture, Mould, ShelfPlace
from studio.models.trail import Trail
from studio.services.stock import Rectangle

MILLIMETRES = [MinValueValidator(0.1), MaxValueValidator(3000)]
THICKNESS = [MinValueValidator(0.5), MaxValueValidator(100)]


class Piece(models.Model):
    """A thing somebody makes, over all of its firings: fused today, slumped next week."""

    title = models.CharField(max_length=120)
    maker = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="pieces")
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    trail = Trail(without=("made_at",))

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.title


class VerdictValue(models.IntegerChoices):
    WELL_SHORT = -2, "well short"
    A_TOUCH_SHORT = -1, "a touch short"
    AS_WANTED = 0, "as wanted"
    A_TOUCH_FAR = 1, "a touch far"
    WELL_PAST = 2, "well past"


class LoadedPiece(models.Model):
    """A piece in the load of one firing, and how it came out. No verdict is "not judged yet"."""

    firing = models.ForeignKey(Firing, models.CASCADE, related_name="load")
    piece = models.ForeignKey(Piece, models.PROTECT, related_name="firings")
    glass = models.ForeignKey(GlassKind, models.PROTECT, null=True, blank=True, related_name="+")
    other_glasses = models.ManyToManyField(
        GlassKind, blank=True, related_name="+", verbose_name="other glasses in it"
    )
    is_fit_test = models.BooleanField(
        "a test whether these glasses fit each other",
        default=False,
        help_text="Then it may mix families. It may crack, also days later.",
    )
    layers = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(40)]
    )
    thickest_mm = models.FloatField("thickest, mm", null=True, blank=True, validators=THICKNESS)
    thinnest_mm = models.FloatField("thinnest, mm", null=True, blank=True, validators=THICKNESS)
    length_mm = models.FloatField("length, mm", null=True, blank=True, validators=MILLIMETRES)
    width_mm = models.FloatField("width, mm", null=True, blank=True, validators=MILLIMETRES)
    place = models.ForeignKey(
        ShelfPlace, models.SET_NULL, null=True, blank=True, related_name="loads"
    )
    mould = models.CharField("lies on or in", max_length=16, choices=Mould, blank=True)
    lies_on = models.ForeignKey(
        KilnFurniture,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="loads",
        verbose_name="which mould or shelf",
    )
    wanted = models.CharField("what is wanted", max_length=200, blank=True)
    is_served = models.BooleanField("the schedule serves this piece", default=False)
    put_in_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        editable=False,
    )
    put_in_at = models.DateTimeField(null=True, editable=False)

    verdict = models.SmallIntegerField(choices=VerdictValue, null=True, blank=True)
    judged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    judged_at = models.DateTimeField(null=True, blank=True)
    length_after_mm = models.FloatField(
        "length after, mm", null=True, blank=True, validators=MILLIMETRES
    )
    width_after_mm = models.FloatField(
        "width after, mm", null=True, blank=True, validators=MILLIMETRES
    )
    thickness_after_mm = models.FloatField(
        "thickness after, mm", null=True, blank=True, validators=THICKNESS
    )
    remarks = models.TextField(blank=True)

    trail = Trail(
        part_of="firing", without=("judged_at", "put_in_by", "put_in_at"), m2m=("other_glasses",)
    )

    class Meta:
        ordering = ["-is_served", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["firing", "piece"], name="a_piece_once_a_load"),
            models.UniqueConstraint(
                fields=["firing"], condition=Q(is_served=True), name="one_served_piece"
            ),
            models.CheckConstraint(
                condition=Q(verdict__isnull=True) | Q(verdict__range=(-2, 2)), name="known_verdict"
            ),
            models.CheckConstraint(
                condition=Q(thinnest_mm__isnull=True)
                | Q(thickest_mm__isnull=True)
                | Q(thinnest_mm__lte=F("thickest_mm")),
                name="piece_thinnest_not_above_thickest",
                violation_error_message="The thinnest point can't be thicker than the thickest.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece} in firing {self.firing_id}"

    @property
    def footprint(self) -> Rectangle | None:
        """In whole mm: a layer is cut no smaller than it is written. None where a side is not."""
        if not (self.length_mm and self.width_mm):
            return None
        return Rectangle(ceil(self.length_mm), ceil(self.width_mm))

    @property
    def reviewed_verdict(self) -> int | None:
        """The instructor's, where a review gives one; comes with `select_related("review")`."""
        review = getattr(self, "review", None)
        return None if review is None else review.verdict

    @property
    def counted_verdict(self) -> int | None:
        """What the advice learns from: the instructor's verdict, or else the maker's."""
        reviewed = self.reviewed_verdict
        return self.verdict if reviewed is None else reviewed

    @property
    def verdicts_differ(self) -> bool:
        return None not in (self.verdict, self.reviewed_verdict) and (
            self.verdict != self.reviewed_verdict
        )


class FaultKind(models.TextChoices):
    CRACK_ROUNDED = "crack_rounded", "crack, edges rounded"
    CRACK_SHARP = "crack_sharp", "crack, edges sharp"
    CRACK_COLOUR = "crack_colour", "crack along a colour"
    SPLIT = "split", "split"
    CRAZING = "crazing", "fine crazing beneath"
    SMALL_BUBBLES = "small_bubbles", "small bubbles between layers"
    LARGE_BUBBLE = "large_bubble", "large bubble from below"
    DEVITRIFICATION = "devitrification", "haze (devitrification)"
    DOG_BONE = "dog_bone", "dog-bone, drawn-in sides"
    NEEDLES = "needles", "needles, spikes at the edge"
    STUCK = "stuck", "stuck"
    STUCK_WASH = "stuck_wash", "wash stuck on the back"
    MOULD_MARK = "mould_mark", "mould mark, thin or sunken"
    UNEVEN_SLUMP = "uneven_slump", "slumped unevenly or slid"
    COLOUR_WRONG = "colour_wrong", "colour wrong"
    OTHER = "other", "something else"


class Fault(models.Model):
    """Something that went wrong beside the verdict, with the day on which it was seen."""

    loaded_piece = models.ForeignKey(LoadedPiece, models.CASCADE, related_name="faults")
    kind = models.CharField("what", max_length=16, choices=FaultKind)
    severity = models.PositiveSmallIntegerField(
        choices=[(1, "slight"), (2, "plain"), (3, "spoilt")], default=2
    )
    seen_on = models.DateField("seen on", default=timezone.localdate)
    note = models.CharField(max_length=200, blank=True)
    noted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    trail = Trail(part_of="loaded_piece")

    class Meta:
        ordering = ["-severity", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(severity__gte=1, severity__lte=3), name="severity_1_to_3"
            )
        ]

    def __str__(self) -> str:
        return self.get_kind_display()
