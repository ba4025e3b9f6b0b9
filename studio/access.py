"""Who may do what: one table of role × relation × act, and the functions that read it.

How a person stands to a thing is found by a function that the thing's app registers here for its
model. Views never ask for roles; they ask `require(person, act, thing)`.
"""

from collections.abc import Callable
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import Model

OWN = "own"
TAUGHT = "taught"  # a student's, by an instructor of a class of theirs
CLASSMATE = "classmate"  # a student's, by another student of a class of theirs
STUDENT = "student"  # another student's
OTHER = "other"  # anybody else's, and the studio's
KEPT = "kept"  # kept to themselves by whoever fired it

EVERY = frozenset({OWN, TAUGHT, CLASSMATE, STUDENT, OTHER, KEPT})
ANY = EVERY - {KEPT}
MINE = frozenset({OWN})
TEACHING = frozenset({OWN, TAUGHT})
NOT_OTHER_CLASSES = frozenset({OWN, TAUGHT, OTHER})
IN_CLASS = frozenset({OWN, CLASSMATE})
MINE_OR_NO_STUDENTS = frozenset({OWN, OTHER})
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
    "person.make_anonymous": (ANY, NONE, NONE, NONE),
    "person.save_list": (ANY, NONE, NONE, NONE),
    "person.see_progress": (ANY, TEACHING, MINE, MINE),
    "invitation.change": (ANY, MINE, NONE, NONE),
    "short_code.take_away": (ANY, MINE, MINE, MINE),
    "device.set_up": (ANY, NONE, NONE, NONE),
    "device.take_away": (ANY, NONE, NONE, NONE),
    "class.make": (ANY, ANY, NONE, NONE),
    "class.see": (ANY, MINE, IN_CLASS, IN_CLASS),
    "class.change": (ANY, MINE, NONE, NONE),
    "class.join": (NONE, NONE, ANY, ANY),
    "kiln.see": (ANY, ANY, ANY, ANY),
    "kiln.change": (ANY, NONE, NONE, NONE),
    "kiln.note_service": (ANY, ANY, NONE, NONE),
    "kiln.measure": (ANY, ANY, MINE, NONE),
    "furniture.see": (ANY, ANY, ANY, ANY),
    "furniture.change": (ANY, ANY, ANY, NONE),
    "furniture.coat": (ANY, ANY, ANY, ANY),
    "glass.see": (ANY, ANY, ANY, ANY),
    "glass.change": (ANY, ANY, ANY, NONE),
    "stock.write": (ANY, ANY, ANY, NONE),
    "stock.cut": (ANY, ANY, ANY, ANY),
    "stock.take_back": (ANY, ANY, ANY, MINE),
    "list.bring_in": (MINE, MINE, MINE, NONE),
    "memory.key": (ANY, ANY, ANY, ANY),
    "schedule.see": (ANY, ANY, ANY, ANY),
    "schedule.write": (ANY, ANY, ANY, ANY),
    "schedule.revise": (ANY, ANY, MINE, MINE),
    "schedule.archive": (ANY, ANY, MINE, MINE),
    "firing.see": (EVERY, EVERY, EVERY, EVERY),
    "firing.see_load": (EVERY, ANY, ANY, ANY),
    "firing.write": (EVERY, EVERY, EVERY, EVERY),
    "firing.change": (EVERY, NOT_OTHER_CLASSES, MINE, MINE),
    "firing.open": (EVERY, EVERY, EVERY, MINE),
    "firing.write_for_others": (ANY, ANY, NONE, NONE),
    "feed.change": (MINE, MINE, MINE, MINE),
    "waiting.load": (ANY, ANY, ANY, NONE),
    "firing.clear": (EVERY, frozenset({TAUGHT}), NONE, NONE),
    "firing.let_go_uncleared": (EVERY, NONE, NONE, NONE),
    "prices.see": (ANY, ANY, ANY, ANY),
    "prices.change": (ANY, NONE, NONE, NONE),
    "cost.see": (EVERY, TEACHING, MINE, MINE),
    "cost.see_all": (ANY, NONE, NONE, NONE),
    "statement.see": (ANY, TEACHING, MINE, MINE),
    "statement.see_all": (ANY, NONE, NONE, NONE),
    "comment.read": (
        EVERY,
        NOT_OTHER_CLASSES,
        MINE_OR_NO_STUDENTS,
        MINE_OR_NO_STUDENTS,
    ),
    "comment.take_back": (MINE, MINE, MINE, MINE),
    "piece.see": (EVERY, ANY, ANY, ANY),
    "piece.read_remarks": (EVERY, ANY, ANY, ANY),
    "piece.judge": (EVERY, NOT_OTHER_CLASSES, MINE, MINE),
    "piece.store": (ANY, ANY, MINE, MINE),
    "piece.see_overdue": (ANY, NONE, NONE, NONE),
    "piece.give_away": (ANY, MINE, MINE, MINE),
    "piece.test_fit": (ANY, ANY, NONE, NONE),
    "piece.review": (EVERY, frozenset({TAUGHT}), NONE, NONE),
    "step.change": (ANY, NOT_OTHER_CLASSES, MINE, MINE),
    "step.see_wanted": (ANY, TEACHING, MINE, MINE),
    "review.see": (EVERY, TEACHING, MINE, MINE),
}

AT_DEVICE = "device"
"""The role of a studio device's reader: nobody is signed in there, and no person has it."""

# What a studio device shows, and offers to whoever says who they are: nothing that is kept, that
# people say to each other or in words of a student's piece, of money, of accounts or of the
# studio's rules. All else: none.
_AT_DEVICE = {
    "device.take_away": ANY,
    "kiln.see": ANY,
    "kiln.note_service": ANY,
    "kiln.measure": ANY,
    "furniture.see": ANY,
    "furniture.coat": ANY,
    "glass.see": ANY,
    "stock.write": ANY,
    "stock.cut": ANY,
    "stock.take_back": ANY,
    "memory.key": ANY,
    "schedule.see": ANY,
    "firing.see": EVERY,
    "firing.see_load": ANY,
    "firing.write": EVERY,
    "firing.change": ANY,
    "firing.open": EVERY,
    "waiting.load": ANY,
    "piece.see": ANY,
    "piece.read_remarks": frozenset({OTHER}),
    "piece.judge": ANY,
    "piece.store": ANY,
    "step.change": ANY,
    "step.see_wanted": ANY,
}
TABLE = {
    act: dict(zip(_ROLES, row, strict=True)) | {AT_DEVICE: _AT_DEVICE.get(act, NONE)}
    for act, row in _TABLE.items()
}

Finder = Callable[[Any, Any], str]
_relation_finders: dict[type[Model], Finder] = {}


def relation_finder(model: type[Model]) -> Callable[[Finder], Finder]:
    """Register the function that tells how a person stands to an instance of `model`."""

    def register(find: Finder) -> Finder:
        _relation_finders[model] = find
        return find

    return register


def relation(person: Any, thing: Model | None) -> str:
    # By `__class__`, not `type`: a request's own person is wrapped until it is asked for.
    find = None if thing is None else _relation_finders.get(thing.__class__)
    return OTHER if find is None else find(person, thing)


def may(person: Any, act: str, thing: Model | None = None) -> bool:
    """Whether `person` may do `act` to `thing`, or, without one, to something new of theirs.

    On a studio device they may what both they and the device may.
    """
    if not (person.is_authenticated and person.is_active):
        return False
    if person.at_device is not None and not may(person.at_device, act, thing):
        return False
    allowed = TABLE[act].get(person.role, NONE)
    if thing is None or not allowed or allowed == EVERY:
        return bool(allowed)
    return relation(person, thing) in allowed


def eyes_of(reader: Any) -> Any:
    """By whom it is decided what a page shows: on a studio device, by the device."""
    return reader if reader is None or reader.at_device is None else reader.at_device


def require(person: Any, act: str, thing: Model | None = None) -> None:
    if not may(person, act, thing):
        raise PermissionDenied
