"""Makes classes and brings students into them."""

from datetime import timedelta

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from studio import access
from studio.models import ClassMember, Person, Role, TeachingClass, WrongJoiningCode
from studio.models.teaching import new_joining_code

MOST_WRONG_CODES = 10
COUNTED_FOR = timedelta(hours=1)


class TooManyCodesError(ValidationError):
    """Somebody tries codes that no class has."""


@transaction.atomic
def class_join(*, person: Person, code: str) -> TeachingClass:
    """The class of this code, with the person among its students; twice changes nothing.

    Raises `TooManyCodesError` after ten wrong codes within an hour, `ValidationError` for a code
    that no class has, a class that is closed or over, and for whoever teaches.
    """
    if not access.may(person, "class.join"):
        raise ValidationError(
            "Classes are joined by students and artists; you are %(role)s here.",
            params={"role": person.get_role_display()},
        )
    since = timezone.now() - COUNTED_FOR
    if WrongJoiningCode.objects.filter(person=person, tried_at__gte=since).count() >= (
        MOST_WRONG_CODES
    ):
        raise TooManyCodesError("Too many wrong codes. Ask your instructor, or wait an hour.")
    joined = TeachingClass.objects.select_for_update().filter(joining_code=clean_code(code)).first()
    if joined is None:
        raise ValidationError("No class has this code. Look at it again.", code="unknown")
    _is_open(joined, person)
    return member_add(teaching_class=joined, person=person)


def wrong_code_note(*, person: Person) -> None:
    """Count a wrong code, outside of the transaction that was refused."""
    WrongJoiningCode.objects.create(person=person)
    WrongJoiningCode.objects.filter(tried_at__lt=timezone.now() - COUNTED_FOR).delete()


def clean_code(code: str) -> str:
    """As it is kept: capitals, without the spaces and dashes with which people read it out."""
    return code.upper().replace(" ", "").replace("-", "")


@transaction.atomic
def member_add(*, teaching_class: TeachingClass, person: Person) -> TeachingClass:
    """The class with this person in it; whoever left is in it again."""
    member, is_new = ClassMember.objects.select_for_update().get_or_create(
        teaching_class=teaching_class, person=person
    )
    if not is_new and member.left_at is not None:
        member.left_at = None
        member.save(update_fields=["left_at"])
    return teaching_class


@transaction.atomic
def member_take_out(*, member: ClassMember) -> ClassMember:
    """Out of the class; what they made and what was said of it stays theirs."""
    locked = ClassMember.objects.select_for_update().get(pk=member.pk)
    if locked.left_at is None:
        locked.left_at = timezone.now()
        locked.save(update_fields=["left_at"])
    return locked


def code_renew(*, teaching_class: TeachingClass) -> TeachingClass:
    """Another code; the one before opens nothing any more."""
    teaching_class.joining_code = new_joining_code()
    teaching_class.save(update_fields=["joining_code"])
    return teaching_class


def _is_open(joined: TeachingClass, person: Person) -> None:
    if joined.members.filter(person=person, left_at=None).exists():
        return
    today = timezone.localdate()
    if joined.ends_on is not None and joined.ends_on < today:
        raise ValidationError("“%(name)s” is over.", params={"name": joined.name})
    if not joined.joining_is_open:
        raise ValidationError(
            "“%(name)s” is closed. One of its instructors can open it.",
            params={"name": joined.name},
        )


def may_teach(person: Person) -> bool:
    return person.is_active and person.role in (Role.INSTRUCTOR, Role.KEEPER)
