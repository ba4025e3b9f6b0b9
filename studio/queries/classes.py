"""Classes as their pages show them."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from studio import access
from studio.models import ClassMember, Kiln, Person, TeachingClass


def classes_seen_by(person: Person) -> QuerySet[TeachingClass]:
    """A keeper sees all, others those that they teach or learn in; running ones first."""
    classes = TeachingClass.objects.annotate(
        students=Count("members", filter=Q(members__left_at=None), distinct=True)
    )
    classes = classes.prefetch_related("instructors").order_by("-starts_on", "name", "pk")
    if access.TABLE["class.see"][person.role] == access.ANY:
        return classes
    mine = TeachingClass.objects.filter(
        Q(instructors=person) | Q(members__person=person, members__left_at=None)
    )
    return classes.filter(pk__in=mine.values("pk"))


@dataclass(frozen=True)
class ClassPage:
    """`members` are in it now, `left` are no longer."""

    teaching_class: TeachingClass
    instructors: list[Person]
    members: list[ClassMember]
    left: list[ClassMember]
    kilns: list[Kiln]
    today: date

    @property
    def is_running(self) -> bool:
        return self.teaching_class.is_running(self.today)

    @property
    def is_over(self) -> bool:
        ends_on = self.teaching_class.ends_on
        return ends_on is not None and ends_on < self.today


def class_page(teaching_class: TeachingClass) -> ClassPage:
    everybody = list(teaching_class.members.select_related("person"))
    return ClassPage(
        teaching_class=teaching_class,
        instructors=list(teaching_class.instructors.all()),
        members=[member for member in everybody if member.left_at is None],
        left=[member for member in everybody if member.left_at is not None],
        kilns=list(teaching_class.kilns.all()),
        today=timezone.localdate(),
    )


def classes_to_invite_to(person: Person) -> QuerySet[TeachingClass]:
    """Running and coming classes that this person may bring students into."""
    coming = TeachingClass.objects.filter(
        Q(ends_on=None) | Q(ends_on__gte=timezone.localdate())
    ).order_by("name")
    if access.TABLE["class.change"][person.role] == access.ANY:
        return coming
    return coming.filter(instructors=person)
