"""The rubric by which a piece is marked."""

from django.db.models import QuerySet

from studio.models import Person, RubricCriterion, TeachingClass
from studio.teaching import counting_memberships


def studio_rubric() -> QuerySet[RubricCriterion]:
    """The studio's criteria, with which each class begins; made when they are first asked for."""
    ours = RubricCriterion.objects.filter(teaching_class=None)
    if not ours.exists():
        RubricCriterion.objects.bulk_create(
            (
                RubricCriterion(name=name, meaning=meaning, position=place)
                for place, (name, meaning) in enumerate(RubricCriterion.FIRST, start=1)
            ),
            ignore_conflicts=True,
        )
    return ours.filter(retired_at=None)


def rubric_of(teaching_class: TeachingClass | None) -> list[RubricCriterion]:
    """A class's own criteria, or else the studio's."""
    own = [] if teaching_class is None else list(teaching_class.criteria.filter(retired_at=None))
    return own or list(studio_rubric())


def rubric_for(student: Person, by: Person) -> list[RubricCriterion]:
    """By which this instructor marks the student: that of a class that both are in."""
    mine = counting_memberships().filter(person=student)
    taught = TeachingClass.objects.filter(pk__in=mine.values("teaching_class"))
    return rubric_of(taught.filter(instructors=by).first() or taught.first())
