"""Changes the criteria of a rubric; one that is left out is retired, for its marks stay."""

from collections.abc import Sequence

from django.db import transaction
from django.utils import timezone

from studio.models import RubricCriterion, TeachingClass

MOST_CRITERIA = 6


@transaction.atomic
def rubric_write(
    *, teaching_class: TeachingClass | None, lines: Sequence[tuple[str, str]]
) -> list[RubricCriterion]:
    """The rubric with these criteria, name and meaning each, in this order.

    A criterion of the same name goes on; one that is not named any more is retired.
    """
    standing = {
        each.name: each
        for each in RubricCriterion.objects.select_for_update().filter(
            teaching_class=teaching_class, retired_at=None
        )
    }
    named = {name for name, _ in lines}
    for gone in standing.keys() - named:
        standing[gone].retired_at = timezone.now()
        standing[gone].save(update_fields=["retired_at"])
    written = []
    for place, (name, meaning) in enumerate(lines, start=1):
        criterion = standing.get(name) or RubricCriterion(teaching_class=teaching_class, name=name)
        criterion.meaning, criterion.position = meaning, place
        criterion.full_clean()
        criterion.save()
        written.append(criterion)
    return written
