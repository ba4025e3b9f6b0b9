"""Whether a planned firing may start, from what instructors decided and what they had looked at.

Source: the studio's own rule; no computation of the trade.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Literal

Standing = Literal["not_asked", "waiting", "returned", "changed", "cleared", "let_go"]
Part = Literal["schedule", "keyed", "kiln", "load"]

PARTS: tuple[Part, ...] = ("schedule", "keyed", "kiln", "load")
_DIGITS = 16  # of each part's digest


@dataclass(frozen=True)
class Decided:
    """The latest decision: "cleared", "returned" or "overridden", on what it had looked at.

    "found" stands with what was found running: nobody decided, and nothing is asked any more.
    """

    decision: str
    seen: str


def seen_digest(parts: Mapping[Part, object]) -> str:
    """64 digits that tell what was looked at, 16 for each of `PARTS`.

    The parts are told apart by their `repr`: plain values, tuples of them.

    Examples
    --------
    >>> one = seen_digest({"schedule": 4, "keyed": (), "kiln": 1, "load": ((7, 6.0),)})
    >>> other = seen_digest({"schedule": 4, "keyed": (), "kiln": 1, "load": ((7, 8.0),)})
    >>> len(one), changed_parts(one, other)
    (64, ('load',))
    """
    return "".join(sha256(repr(parts[part]).encode()).hexdigest()[:_DIGITS] for part in PARTS)


def changed_parts(before: str, now: str) -> tuple[Part, ...]:
    """Which parts differ between two digests."""
    return tuple(
        part
        for place, part in enumerate(PARTS)
        if before[place * _DIGITS : (place + 1) * _DIGITS]
        != now[place * _DIGITS : (place + 1) * _DIGITS]
    )


def standing_of(*, asked: bool, latest: Decided | None, seen_now: str) -> Standing:
    """How a planned firing stands.

    What was cleared or let go, and changed since, has to be cleared again; what was returned
    waits again once something of it changed.

    Examples
    --------
    >>> standing_of(asked=True, latest=None, seen_now="b")
    'waiting'
    >>> standing_of(asked=True, latest=Decided("cleared", "a"), seen_now="b")
    'changed'
    """
    if not asked:
        return "not_asked"
    if latest is None:
        return "waiting"
    same = latest.seen == seen_now
    if latest.decision == "returned":
        return "returned" if same else "waiting"
    if not same:
        return "changed"
    return "cleared" if latest.decision == "cleared" else "let_go"


def may_start(standing: Standing) -> bool:
    return standing in ("not_asked", "cleared", "let_go")
