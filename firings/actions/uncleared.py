"""Refuses to start what an instructor has to clear first; tells of what runs all the same."""

from django.core.exceptions import ValidationError

from firings.actions.class_limits import refuse_outside_class
from firings.models import Clearing, ClearingDecision, Firing
from firings.queries.clearing import clearing_of
from studio.actions.mail import mail_soon, site_address
from studio.formats import plain
from studio.models import Person, Role


def refuse_uncleared(firing: Firing) -> None:
    """Raises `ValidationError` for a planned firing that waits to be cleared."""
    if (refused := refusal(firing)) is not None:
        raise refused


def refusal(firing: Firing) -> ValidationError | None:
    """Why a planned firing can't be started yet, and who can help; None where it may."""
    clearing = clearing_of(firing)
    if clearing.may_start:
        return None
    who = " or ".join(person.name for person in clearing.clearers) or "an instructor"
    words = {
        "waiting": "It waits to be cleared by %(who)s.",
        "returned": "%(by)s returned it: mend what is said there first.",
        "changed": "It was changed since it was cleared, and waits for %(who)s again.",
    }[clearing.standing]
    by = clearing.latest.decided_by.name if clearing.latest else ""
    return ValidationError(words, params={"who": who, "by": by}, code="not_cleared")


HAD_NOT_BEEN = {
    "waiting": "It had not been cleared.",
    "returned": "It had been returned.",
    "changed": "It had been changed since it was cleared.",
}


def uncleared_note(*, firing: Firing, by: Person) -> Clearing | None:
    """Notes with a firing that was found running why it could not have been started here, and mails
    its student's instructors and the keepers. None where it could have been.

    What runs can't be held back by a record: it is kept as it is, marked, and told.
    """
    clearing = clearing_of(firing)
    reasons = [] if clearing.may_start else [HAD_NOT_BEEN[clearing.standing]]
    try:
        refuse_outside_class(firing)
    except ValidationError as error:
        reasons += error.messages
    if not reasons:
        return None
    noted = Clearing(
        firing=firing,
        decision=ClearingDecision.FOUND,
        seen=clearing.seen,
        comment=plain(" ".join(reasons)),
        decided_by=by,
    )
    noted.full_clean()
    noted.save()
    keepers = Person.objects.filter(role=Role.KEEPER, is_active=True)
    for person in {*clearing.clearers, *keepers} - {by}:
        mail_soon(
            to=person,
            subject=f"{firing.kiln} fires what was not cleared",
            words=(
                f"{by} found it running: {firing.title or firing.revision.schedule.name}, fired by "
                f"{firing.fired_by}. {noted.comment}"
            ),
            link=site_address("firings:firing_detail", firing.pk),
        )
    return noted
