"""What must be settled before somebody who left is made anonymous.

Each app registers what it asks here, as with `studio.access.relation_finder`.
"""

from collections.abc import Callable

from studio.models import Person

Check = Callable[[Person], None]
_checks: list[Check] = []


def before_anonymous(check: Check) -> Check:
    """Register a function that raises `ValidationError` where something is still to be settled."""
    _checks.append(check)
    return check


def require_settled(person: Person) -> None:
    for check in _checks:
        check(person)
