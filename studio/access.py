"""Who may do what: one table of role × relation × act, and the functions that read it.

The relation of a person to a thing ("own" or "other") is found by a function that the thing's app
registers here for its model. Views never ask for roles; they ask `require(person, act, thing)`.
"""

from collections.abc import Callable
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import Model

OWN = "own"
OTHER = "other"
ANY = frozenset({OWN, OTHER})
MINE = frozenset({OWN})
NONE: frozenset[str] = frozenset()

# act → relations for (keeper, instructor, artist, student)
_ROLES = ("keeper", "instructor", "artist", "student")
_TABLE: dict[str, tuple[frozenset[str], frozenset[str], frozenset[str], frozenset[str]]] = {
    "studio.change": (ANY, NONE, NONE, NONE),
    "person.see": (ANY, ANY, ANY, ANY),
    "person.invite": (ANY, ANY, NONE, NONE),
    "person.change": (ANY, MINE, MINE, MINE),
    "person.set_role": (ANY, NONE, NONE, NONE),
    "person.deactivate": (ANY, NONE, NONE, NONE),
    "person.reset_password": (ANY, NONE, NONE, NONE),
    "invitation.change": (ANY, MINE, NONE, NONE),
    "kiln.see": (ANY, ANY, ANY, ANY),
    "kiln.change": (ANY, NONE, NONE, NONE),
    "kiln.note_service": (ANY, ANY, NONE, NONE),
    "glass.see": (ANY, ANY, ANY, ANY),
    "glass.change": (ANY, ANY, ANY, NONE),
    "schedule.see": (ANY, ANY, ANY, ANY),
    "schedule.write": (ANY, ANY, ANY, ANY),
    "schedule.revise": (ANY, ANY, MINE, MINE),
    "schedule.archive": (ANY, ANY, MINE, MINE),
    "firing.see": (ANY, ANY, ANY, ANY),
    "firing.write": (ANY, ANY, ANY, ANY),
    "firing.change": (ANY, ANY, MINE, MINE),
    "firing.open": (ANY, ANY, ANY, MINE),
    "firing.write_for_others": (ANY, ANY, NONE, NONE),
    "piece.judge": (ANY, ANY, MINE, MINE),
}
TABLE = {act: dict(zip(_ROLES, row, strict=True)) for act, row in _TABLE.items()}

_relation_finders: dict[type[Model], Callable[[Any, Any], str]] = {}


def relation_finder(model: type[Model]) -> Callable[[Callable[[Any, Any], str]], None]:
    """Register the function that tells how a person stands to an instance of `model`."""

    def register(find: Callable[[Any, Any], str]) -> None:
        _relation_finders[model] = find

    return register


def relation(person: Any, thing: Model | None) -> str:
    if thing is None or type(thing) not in _relation_finders:
        return OTHER
    return _relation_finders[type(thing)](person, thing)


def may(person: Any, act: str, thing: Model | None = None) -> bool:
    """Whether `person` may do `act` to `thing`, or, without one, to something new of theirs."""
    if not (person.is_authenticated and person.is_active):
        return False
    allowed = TABLE[act].get(person.role, NONE)
    return bool(allowed) if thing is None else relation(person, thing) in allowed


def require(person: Any, act: str, thing: Model | None = None) -> None:
    if not may(person, act, thing):
        raise PermissionDenied
