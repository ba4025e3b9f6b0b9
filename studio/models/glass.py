from django.core.validators import BaseValidator, MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Coalesce


def _within(lowest: float, highest: float) -> list[BaseValidator]:
    return [MinValueValidator(lowest), MaxValueValidator(highest)]


class HasPoints:
    """Mixin for a row with the points of a glass."""

    strain_point_c: float | None
    annealing_point_c: float | None
    softening_point_c: float | None

    @property
    def points(self) -> tuple[float, float, float] | None:
        """Strain, annealing and softening point: they hang together, and count as three or none."""
        strain, annealing, softening = (
            self.strain_point_c,
            self.annealing_point_c,
            self.softening_point_c,
        )
        if strain is None or annealing is None or softening is None:
            return None
        return strain, annealing, softening

    @property
    def some_points(self) -> bool:
        """Whether any of the three is on record; the others can be estimated from it."""
        known = (self.strain_point_c, self.annealing_point_c, self.softening_point_c)
        return any(point is not None for point in known)


class GlassFamily(HasPoints, models.Model):
    """Glasses whose expansion fits each other; different families are never fused together."""

    name = models.CharField(max_length=60, unique=True)
    strain_point_c = models.FloatField(
        "strain point",
        null=True,
        blank=True,
        validators=_within(250, 800),
    )
    annealing_point_c = models.FloatField(
        "annealing point",
        null=True,
        blank=True,
        validators=_within(300, 850),
    )
    softening_point_c = models.FloatField(
        "softening point",
        null=True,
        blank=True,
        validators=_within(400, 1100),
    )
    anneal_soak_c = models.FloatField(
        "anneal soak at",
        null=True,
        blank=True,
        validators=_within(300, 700),
        help_text="From the glass maker's sheet; the expansion number does not tell it.",
    )
    expansion = models.FloatField(
        "expansion, 10⁻⁷ per K",
        null=True,
        blank=True,
        validators=_within(0, 200),
    )
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "glass families"
        # A point that is not known is NULL, and a condition on it lets the row pass.
        constraints = [
            models.CheckConstraint(
                condition=Q(strain_point_c__lt=F("annealing_point_c")),
                name="family_strain_below_annealing",
                violation_error_message="The strain point lies below the annealing point.",
            ),
            models.CheckConstraint(
                condition=Q(annealing_point_c__lt=F("softening_point_c")),
                name="family_annealing_below_softening",
                violation_error_message="The annealing point lies below the softening point.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class GlassForm(models.TextChoices):
    SHEET = "sheet", "sheet"
    FRIT = "frit", "frit"
    POWDER = "powder", "powder"
    STRINGER = "stringer", "stringer"
    ROD = "rod", "rod"
    BILLET = "billet", "billet"
    OTHER = "other", "other"


class GlassLook(models.TextChoices):
    TRANSPARENT = "transparent", "transparent"
    OPALESCENT = "opalescent", "opalescent"
    STRIKER = "striker", "striker"
    IRIDISED = "iridised", "iridised"
    DICHROIC = "dichroic", "dichroic"
    FLOAT = "float", "float"


class GlassKind(HasPoints, models.Model):
    """One kind of glass on record; where a point is unknown, its family's counts."""

    family = models.ForeignKey(GlassFamily, models.PROTECT, related_name="kinds")
    maker = models.CharField(max_length=80, blank=True)
    code = models.CharField("maker's code", max_length=40, blank=True)
    colour = models.CharField(max_length=80)
    form = models.CharField(max_length=12, choices=GlassForm, default=GlassForm.SHEET)
    look = models.CharField(max_length=12, choices=GlassLook, default=GlassLook.TRANSPARENT)
    thickness_mm = models.FloatField(
        "thickness, mm",
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1), MaxValueValidator(100)],
        help_text="0.1 to 100; leave empty for frit and powder.",
    )
    strain_point_c = GlassFamily._meta.get_field("strain_point_c").clone()
    annealing_point_c = GlassFamily._meta.get_field("annealing_point_c").clone()
    softening_point_c = GlassFamily._meta.get_field("softening_point_c").clone()
    expansion = GlassFamily._meta.get_field("expansion").clone()
    carries_sulphur = models.BooleanField("sulphur or selenium", default=False)
    carries_copper = models.BooleanField("copper", default=False)
    carries_lead = models.BooleanField("lead", default=False)
    carries_silver = models.BooleanField("silver", default=False)
    note = models.TextField(blank=True)
    archived_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["family__name", "colour", "form", "thickness_mm"]
        constraints = [
            models.UniqueConstraint(
                "maker",
                "code",
                "form",
                Coalesce("thickness_mm", 0.0),  # SQLite counts two NULLs as different
                condition=~Q(code=""),
                name="one_kind_a_code",
                violation_error_message="This code is on record in that form and thickness.",
            ),
            models.CheckConstraint(
                condition=Q(thickness_mm__isnull=True) | Q(thickness_mm__gt=0),
                name="glass_thickness_positive",
            ),
            models.CheckConstraint(
                condition=Q(strain_point_c__lt=F("annealing_point_c")),
                name="kind_strain_below_annealing",
                violation_error_message="The strain point lies below the annealing point.",
            ),
            models.CheckConstraint(
                condition=Q(annealing_point_c__lt=F("softening_point_c")),
                name="kind_annealing_below_softening",
                violation_error_message="The annealing point lies below the softening point.",
            ),
        ]

    def __str__(self) -> str:
        thickness = f" {self.thickness_mm:g} mm" if self.thickness_mm else ""
        code = f" ({self.code})" if self.code else ""
        return f"{self.colour} {self.get_form_display()}{thickness}{code}"

    @property
    def carries(self) -> list[str]:
        """What it carries that may react with another glass, as far as that is known."""
        each = (
            ("sulphur or selenium", self.carries_sulphur),
            ("copper", self.carries_copper),
            ("lead", self.carries_lead),
            ("silver", self.carries_silver),
        )
        return [name for name, carried in each if carried]
