"""The lists of the studio that people save as a file and bring in; each app registers its own here.

What is registered is found by a word in an address, as with `studio.trails`.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import tzinfo
from typing import Any, Protocol

from studio.services.lists.columns import Column
from studio.services.lists.fates import Judged
from studio.services.lists.values import Reading

Rows = Callable[[Any, tzinfo], Iterator[Sequence[Any]]]
Tick = Callable[[int], None]
"""Called with the number of rows that are done; raises where the run is cancelled."""


class Judge(Protocol):
    def judge(self, line: int, cells: Mapping[str, str]) -> Judged: ...


@dataclass(frozen=True)
class SavedList:
    """A list as a file: `rows(person, zone)` gives what this person may read, as `header` says.

    `act` is asked of whoever saves it; `page` names the page on which the list stands.
    """

    title: str
    act: str
    page: str
    header: tuple[str, ...]
    rows: Rows


class BroughtList(Protocol):
    """A list that may be brought in; its key is that of the list which is saved.

    `act` is asked of whoever brings it in. `asks` names what is never taken as it seems to be, but
    said by whoever brings a file in: "unit" of temperatures that name none, "day_first" of dates
    that could be read either way. `reasons` is the template with the words of its refusals.
    `known` reads what rows are held against, for whoever brings them in: what it gives is compared
    as a whole, so that rows never count by what stood there before. `judge` makes the judge of one
    file's rows. `hold` locks what rows change, inside the transaction in which `write` writes
    them; `taken` is the file's own row.
    """

    act: str
    columns: tuple[Column, ...]
    asks: frozenset[str]
    reasons: str

    def known(self, by: Any) -> Any: ...

    def judge(self, known: Any, reading: Reading) -> Judge: ...

    def hold(self, rows: Sequence[Judged]) -> None: ...

    def write(self, rows: Sequence[Judged], *, taken: Any, reason: str, tick: Tick) -> None: ...


_saved: dict[str, SavedList] = {}
_brought: dict[str, BroughtList] = {}


def list_saved(key: str, saved: SavedList) -> None:
    _saved[key] = saved


def list_brought(key: str, brought: BroughtList) -> None:
    _brought[key] = brought


def saved_list(key: str) -> SavedList | None:
    return _saved.get(key)


def brought_list(key: str) -> BroughtList | None:
    return _brought.get(key)


def saved_lists() -> dict[str, SavedList]:
    return dict(_saved)


def brought_lists() -> dict[str, BroughtList]:
    return dict(_brought)
