"""What the trail of a thing is made of: its own records, and those of its parts.

Each app registers the trails of its things here, as with `studio.access.relation_finder`; the
page of a trail asks for them by a word in its address.
"""

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from django.db.models import Model, Q


def _nothing(person: Any, thing: Any) -> frozenset[str]:
    return frozenset()


def _from_nobody(person: Any, thing: Any) -> bool:
    return False


@dataclass(frozen=True)
class TrailPart:
    """Rows of a model that belong to a thing.

    `which(person, thing)` selects the records that this person sees. `called` is what a line
    calls such a row, and `known_by` names the fields that tell which one it is. `codes` holds the
    words for codes in lists, by field. `hides(person, thing)` names fields left out.
    """

    model: type[Model]
    which: Callable[[Any, Any], Q]
    called: str = ""
    known_by: tuple[str, ...] = ()
    codes: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    hides: Callable[[Any, Any], frozenset[str]] = _nothing


@dataclass(frozen=True)
class TrailOf:
    """The trail of one kind of thing; whoever may do `act` to it may read it, unless it is kept
    from them.

    `page` is the name of the thing's own page, and `numbered` whether its address has a number.
    """

    model: type[Model]
    act: str
    page: str
    section: str
    parts: tuple[TrailPart, ...]
    numbered: bool = True
    is_kept_from: Callable[[Any, Any], bool] = _from_nobody


def itself(person: Any, thing: Model) -> Q:
    return Q(id=thing.pk)


_trails: dict[str, TrailOf] = {}
_added: dict[str, list[TrailPart]] = defaultdict(list)
_named_by: dict[type[Model], str] = {}


def trail_of(kind: str, trail: TrailOf) -> None:
    _trails[kind] = trail


def trail_part(kind: str, part: TrailPart) -> None:
    """What a later app adds to the trail of a thing; whichever of the two is registered first."""
    _added[kind].append(part)


def trail_kind(kind: str) -> TrailOf | None:
    trail = _trails.get(kind)
    return None if trail is None else replace(trail, parts=(*trail.parts, *_added[kind]))


def trail_kinds() -> dict[str, TrailOf]:
    return {kind: trail for kind in _trails if (trail := trail_kind(kind)) is not None}


def named_by(model: type[Model], name: str) -> None:
    """A row of `model` is called as its field `name` is: for rows that may be gone by then."""
    _named_by[model] = name


def naming_field(model: type[Model]) -> str | None:
    return _named_by.get(model)
