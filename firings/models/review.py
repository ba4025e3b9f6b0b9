from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from firings.models.load import LoadedPiece, VerdictValue
from studio.models import RubricCriterion
from studio.models.trail import Trail

HIGHEST_MARK = 4


class Review(models.Model):
    """What an instructor says of a student's piece after its firing; the maker's verdict stands
    beside it. One a piece and firing: another instructor's takes its place, and the trail keeps
    the earlier one.
    """

    loaded_piece = models.OneToOneField(LoadedPiece, models.PROTECT, related_name="review")
    verdict = models.SmallIntegerField(choices=VerdictValue, null=True, blank=True)
    comment = models.TextField(blank=True)
    reviewed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    reviewed_at = models.DateTimeField(default=timezone.now)
    version = models.PositiveIntegerField(default=1, editable=False)

    trail = Trail(part_of="loaded_piece", without=("reviewed_at", "version"))

    class Meta:
        ordering = ["-reviewed_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(verdict__isnull=True) | Q(verdict__range=(-2, 2)),
                name="known_review_verdict",
            )
        ]

    def __str__(self) -> str:
        return f"review of {self.loaded_piece}"


class ReviewMark(models.Model):
    """One criterion of the rubric, from 1 to 4."""

    review = models.ForeignKey(Review, models.CASCADE, related_name="marks")
    criterion = models.ForeignKey(RubricCriterion, models.PROTECT, related_name="marks")
    mark = models.PositiveSmallIntegerField()

    trail = Trail(part_of="review")

    class Meta:
        ordering = ["criterion__position", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["review", "criterion"], name="one_mark_a_criterion"),
            models.CheckConstraint(
                condition=Q(mark__gte=1, mark__lte=HIGHEST_MARK), name="mark_1_to_4"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.criterion}: {self.mark}"
