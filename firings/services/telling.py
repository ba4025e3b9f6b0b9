"""What to tell of a running firing, and when: the top is near, it falls behind, it can be opened.

Source: our own rule; how long before the top one wants to know is common practice, no source.
"""

from dataclasses import dataclass
from typing import Literal

BEFORE_THE_TOP = 15 * 60.0
"""s before the top at which it is near: time to walk to the kiln."""
TOLD_UNTIL = 2 * 3600.0
"""s after which a moment is no news any more."""

Kind = Literal["peak_near", "falls_behind", "cool_enough"]

BEHIND = frozenset({"falling_behind", "fell"})
"""Standings in which the kiln cannot follow; one that lags as usual is no news."""


@dataclass(frozen=True)
class Course:
    """A running firing at a moment; times in s from now, negative once they are past.

    Attributes
    ----------
    top : until the top is reached, None where it is not told
    opening : until it is cool enough to open, by its readings so far; None where it is not told
    standing : the code of the latest reading, None without one
    read : s since that reading, None without one
    """

    top: float | None = None
    opening: float | None = None
    standing: str | None = None
    read: float | None = None


def what_to_tell(course: Course) -> tuple[Kind, ...]:
    """What is news at this moment; each is told once by whoever keeps that.

    Examples
    --------
    >>> what_to_tell(Course(top=600.0, opening=40_000.0))
    ('peak_near',)
    >>> what_to_tell(Course(standing="falling_behind", read=60.0))
    ('falls_behind',)
    >>> what_to_tell(Course(top=-30_000.0, opening=-60.0))
    ('cool_enough',)
    """
    kinds: list[Kind] = []
    if course.top is not None and 0.0 < course.top <= BEFORE_THE_TOP:
        kinds.append("peak_near")
    lately = course.read is not None and course.read <= TOLD_UNTIL
    if course.standing in BEHIND and lately:
        kinds.append("falls_behind")
    if course.opening is not None and -TOLD_UNTIL <= course.opening <= 0.0:
        kinds.append("cool_enough")
    return tuple(kinds)
