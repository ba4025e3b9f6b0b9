"""Keeps what an instructor says of a student's piece."""

from collections.abc import Mapping

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from firings.models import FiringState, LoadedPiece, Review, ReviewMark
from studio.models import Person, RubricCriterion


class ReviewedMeanwhileError(ValidationError):
    """Another instructor was quicker; what they wrote stands."""


@transaction.atomic
def piece_review(
    *,
    loaded: LoadedPiece,
    by: Person,
    verdict: int | None,
    comment: str,
    marks: Mapping[RubricCriterion, int],
    version: int,
) -> Review:
    """The review of a piece; `version` is that of the review that its page showed, 0 for none.

    A criterion that is not among `marks` has no mark any more. Raises `ReviewedMeanwhileError`
    where somebody else reviewed it since, `ValidationError` before the opening and where nothing
    is said at all.
    """
    locked = LoadedPiece.objects.select_for_update().select_related("firing").get(pk=loaded.pk)
    if locked.firing.state != FiringState.OPENED:
        raise ValidationError("A piece is reviewed once its kiln was opened.", code="state")
    if verdict is None and not comment and not marks:
        raise ValidationError("Give a verdict, a comment or a mark.", code="empty")
    review = Review.objects.select_related("reviewed_by").filter(loaded_piece=locked).first()
    if (review.version if review else 0) != version:
        raise ReviewedMeanwhileError(
            "%(who)s reviewed it meanwhile. What they wrote stands; look at both.",
            params={"who": review.reviewed_by if review else "Somebody"},
        )
    review = review or Review(loaded_piece=locked, version=0)
    review.verdict, review.comment = verdict, comment
    review.reviewed_by, review.reviewed_at = by, timezone.now()
    review.version += 1
    review.full_clean()
    review.save()
    _mark(review, marks)
    return review


def _mark(review: Review, marks: Mapping[RubricCriterion, int]) -> None:
    standing = {mark.criterion_id: mark for mark in review.marks.all()}
    for criterion_id in standing.keys() - {criterion.pk for criterion in marks}:
        standing[criterion_id].delete()
    for criterion, given in marks.items():
        mark = standing.get(criterion.pk) or ReviewMark(review=review, criterion=criterion)
        if mark.pk is None or mark.mark != given:
            mark.mark = given
            mark.full_clean()
            mark.save()
