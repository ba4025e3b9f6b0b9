"""How a person stands to the things of this app; read by `studio.access`."""

from studio.access import CLASSMATE, OTHER, OWN, relation_finder
from studio.models import Invitation, ListImport, Person, StockMovement, TeachingClass
from studio.teaching import relation_between


@relation_finder(Person)
def to_person(person: Person, other: Person) -> str:
    return relation_between(person, other)


@relation_finder(Invitation)
def to_invitation(person: Person, invitation: Invitation) -> str:
    return OWN if person.pk == invitation.invited_by_id else OTHER


@relation_finder(StockMovement)
def to_movement(person: Person, movement: StockMovement) -> str:
    return OWN if person.pk == movement.by_id else OTHER


@relation_finder(ListImport)
def to_import(person: Person, list_import: ListImport) -> str:
    return OWN if person.pk == list_import.by_id else OTHER


@relation_finder(TeachingClass)
def to_class(person: Person, teaching_class: TeachingClass) -> str:
    """Own: its instructors'. A classmate: whoever learns in it, also after it ended."""
    if teaching_class.instructors.filter(pk=person.pk).exists():
        return OWN
    if teaching_class.members.filter(person=person, left_at=None).exists():
        return CLASSMATE
    return OTHER
