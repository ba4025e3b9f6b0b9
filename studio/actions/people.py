from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from studio.actions.classes import member_add
from studio.actions.short_codes import short_code_take_away
from studio.leaving import require_settled
from studio.models import Invitation, Person, Role
from studio.queries.people import roles_to_invite

LEFT = "someone who left"


class InvitationGoneError(Exception):
    """The invitation was used, has expired or was withdrawn."""


@transaction.atomic
def invitation_accept(
    *,
    invitation: Invitation,
    name: str,
    sign_in_name: str,
    password: str,
    unit: str = "C",
    email: str = "",
) -> Person:
    """The account that an invitation allows; the locked row lets only one come of it."""
    locked = Invitation.objects.select_for_update().get(pk=invitation.pk)
    if not locked.is_open:
        raise InvitationGoneError
    person = Person(name=name, sign_in_name=sign_in_name, email=email, unit=unit, role=locked.role)
    person.set_password(password)
    person.full_clean()
    person.save()
    locked.used_by = person
    locked.save(update_fields=["used_by"])
    if locked.teaching_class is not None:
        member_add(teaching_class=locked.teaching_class, person=person)
    return person


@transaction.atomic
def invitation_withdraw(*, invitation: Invitation) -> Invitation:
    locked = Invitation.objects.select_for_update().get(pk=invitation.pk)
    if locked.used_by_id is not None:
        raise ValidationError("This invitation has been used already.")
    if locked.withdrawn_at is None:
        locked.withdrawn_at = timezone.now()
        locked.save(update_fields=["withdrawn_at"])
    return locked


@transaction.atomic
def person_set_role(*, person: Person, role: str) -> Person:
    """Another role; links for a role to which they invite no longer are withdrawn."""
    if role != Role.KEEPER:
        _keep_a_keeper_beside(person)
    person.role = role
    person.full_clean()
    person.save(update_fields=["role"])
    theirs = _open_invitations_of(person).exclude(role__in=roles_to_invite(person))
    theirs.update(withdrawn_at=timezone.now())
    return person


@transaction.atomic
def person_deactivate(*, person: Person) -> Person:
    """End a person's access: no sign-in, no open session, no short code, no open invitations."""
    _keep_a_keeper_beside(person)
    person.is_active = False
    person.save(update_fields=["is_active"])
    short_code_take_away(person=person)
    _open_invitations_of(person).update(withdrawn_at=timezone.now())
    return person


@transaction.atomic
def person_make_anonymous(*, person: Person) -> Person:
    """Somebody who left, without a name: their firings and pieces stay, and nobody is told whose.

    Only of a closed account; it can't be undone. What people wrote in words stays as it is.
    """
    locked = Person.objects.select_for_update().get(pk=person.pk)
    if locked.is_active:
        raise ValidationError("Close the account first.", code="active")
    require_settled(locked)
    for kept in (AccessAttempt, AccessFailureLog, AccessLog):
        kept.objects.filter(username__iexact=locked.sign_in_name).delete()
    locked.name, locked.email = LEFT, ""
    locked.sign_in_name = f"left-{locked.pk}"
    locked.set_unusable_password()
    locked.full_clean(exclude=["password"])
    locked.save()
    for invitation in Invitation.objects.filter(used_by=locked):
        invitation.invited_for, invitation.email = LEFT, ""
        invitation.save(update_fields=["invited_for", "email"])
    return locked


def _open_invitations_of(person: Person) -> QuerySet[Invitation]:
    return Invitation.objects.filter(
        invited_by=person, used_by__isnull=True, withdrawn_at__isnull=True
    )


def _keep_a_keeper_beside(person: Person) -> None:
    """Locks the active keepers, so that two who leave at once can't leave none."""
    keepers = Person.objects.select_for_update().filter(role=Role.KEEPER, is_active=True)
    if {keeper.pk for keeper in keepers.order_by("pk")} == {person.pk}:
        raise ValidationError("The studio needs one keeper; make someone else keeper first.")
