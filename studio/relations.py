"""How a person stands to the things of this app; read by `studio.access`."""

from studio.access import OTHER, OWN, relation_finder
from studio.models import Invitation, Person


@relation_finder(Person)
def to_person(person: Person, other: Person) -> str:
    return OWN if person.pk == other.pk else OTHER


@relation_finder(Invitation)
def to_invitation(person: Person, invitation: Invitation) -> str:
    return OWN if person.pk == invitation.invited_by_id else OTHER
