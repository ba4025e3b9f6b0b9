"""What is settled about the pieces of who left, before they are made anonymous."""

from django.core.exceptions import ValidationError

from firings.queries.storage import stays_of
from studio.leaving import before_anonymous
from studio.models import Person


@before_anonymous
def pieces_settled(person: Person) -> None:
    """Nobody would know any more whose the pieces on the storage shelves are."""
    left = [str(stay.row.piece) for stay in stays_of(person)]
    if left:
        raise ValidationError(
            f"On the storage shelves lie pieces of theirs: {', '.join(left[:5])}. Hand them over, "
            "or discard them, first.",
            code="pieces",
        )
