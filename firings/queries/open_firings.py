"""The rights to many firings at once: the relations of `firings.relations` as one condition."""

from django.db.models import Case, CharField, Q, QuerySet, Value, When

from firings.models import Firing
from studio.access import CLASSMATE, EVERY, KEPT, NONE, OTHER, OWN, STUDENT, TABLE, TAUGHT
from studio.models import Person, Role
from studio.teaching import of_taught, ties_of


def firings_open_to(person: Person, act: str) -> QuerySet[Firing]:
    """Those to which this person may do `act`, as `access.may` says of each of them."""
    if person.at_device is None:
        return _open_to(person, act)
    return _open_to(person, act).filter(pk__in=_open_to(person.at_device, act).values("pk"))


def _open_to(person: Person, act: str) -> QuerySet[Firing]:
    """The chain below asks in the order in which `relations.to_firing` does."""
    allowed = TABLE[act].get(person.role, NONE)
    if not (person.is_active and allowed):
        return Firing.objects.none()
    if allowed == EVERY:
        return Firing.objects.all()
    ties = ties_of(person)
    student = Q(fired_by__role=Role.STUDENT)
    asked = [
        (Q(fired_by=person) | Q(written_by=person), OWN),
        (of_taught(person, "fired_by"), TAUGHT),
        (Q(is_private=True), KEPT),
        (student & Q(fired_by__in=ties.classmates), CLASSMATE),
        (student, STUDENT),
    ]
    relation = Case(
        *[When(condition, Value(word)) for condition, word in asked],
        default=Value(OTHER),
        output_field=CharField(),
    )
    return Firing.objects.alias(relation=relation).filter(relation__in=allowed)
