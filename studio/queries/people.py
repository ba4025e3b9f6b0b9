from django.core import signing
from django.db.models import QuerySet
from django.utils import timezone

from studio import access
from studio.models import Invitation, Person, Role
from studio.models.person import INVITATION_SALT
from studio.queries.names import ByName


def people_seen_by(person: Person) -> QuerySet[Person]:
    """Everybody active, and for whoever may open an account again the closed ones after them."""
    people = Person.objects.order_by("-is_active", ByName("name"), "pk")
    return people if access.may(person, "person.deactivate") else people.filter(is_active=True)


def roles_to_invite(person: Person) -> list[Role]:
    """A keeper invites anybody, who else may invite only students."""
    if not access.may(person, "person.invite"):
        return []
    return list(Role) if person.role == Role.KEEPER else [Role.STUDENT]


def open_invitations(person: Person) -> QuerySet[Invitation]:
    """The invitations that can still be used and that `person` may see: all, or their own."""
    invitations = Invitation.objects.select_related("invited_by").filter(
        used_by__isnull=True, withdrawn_at__isnull=True, expires_at__gt=timezone.now()
    )
    if access.TABLE["invitation.change"][person.role] == access.ANY:
        return invitations
    return invitations.filter(invited_by=person)


def invitation_of(token: str) -> Invitation | None:
    """The invitation that a link stands for, whatever became of it; None when it was altered."""
    try:
        pk = signing.Signer(salt=INVITATION_SALT).unsign_object(token)
    except signing.BadSignature:
        return None
    return Invitation.objects.select_related("invited_by").filter(pk=pk).first()
