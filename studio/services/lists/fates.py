"""What becomes of a row of a list that is brought in, and why: codes and figures, no words."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

NEW, SAME, CHANGED, REFUSED = "new", "same", "changed", "refused"
FATES = (REFUSED, CHANGED, NEW, SAME)
"""In the order in which a person wants to see them."""


@dataclass(frozen=True)
class Reason:
    """Why a row is refused.

    Parameters
    ----------
    code : by which a template finds the words
    column : name of the column that is to blame, or empty
    figures : what the words name: what stands in the cell, a limit with its unit, another line
    """

    code: str
    column: str = ""
    figures: Mapping[str, str] = field(default_factory=dict)


class RefusedError(ValueError):
    """Raised where a row can't be taken; `.reason` says why.

    Examples
    --------
    >>> RefusedError("missing", "colour").reason
    Reason(code='missing', column='colour', figures={})
    """

    def __init__(self, code: str, column: str = "", **figures: object) -> None:
        super().__init__(code)
        self.reason = Reason(code, column, {name: str(value) for name, value in figures.items()})


@dataclass(frozen=True)
class Change:
    """What a row changes of something that is on record, or says of something new: as it is shown.

    Parameters
    ----------
    column : name of the column, or "glass" for a kind of glass that is put on record
    before : empty for what is new
    """

    column: str
    before: str
    after: str


@dataclass(frozen=True)
class Judged:
    """A row with its fate.

    Parameters
    ----------
    line : of the file, from 1
    fate : one of `FATES`
    says : what the row is about, in a few words
    reason : why it is refused, where it is
    changes : what it changes, or what it says of something new
    plan : what is written for it; whoever judged knows its kind
    """

    line: int
    fate: str
    says: str = ""
    reason: Reason | None = None
    changes: tuple[Change, ...] = ()
    plan: Any = None

    @property
    def seen(self) -> tuple[Any, ...]:
        """What of it a person saw and agreed to.

        Examples
        --------
        >>> Judged(3, NEW, "moss sheet", plan={"lot": 1}).seen
        (3, 'new', 'moss sheet', ())
        """
        return self.line, self.fate, self.says, self.changes
