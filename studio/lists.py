"""The lists of the studio that people save as a file; each app registers its own here.

What is registered is found by a word in an address, as with `studio.trails`.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import tzinfo
from typing import Any

Rows = Callable[[Any, tzinfo], Iterator[Sequence[Any]]]


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


_lists: dict[str, SavedList] = {}


def list_saved(key: str, saved: SavedList) -> None:
    _lists[key] = saved


def saved_list(key: str) -> SavedList | None:
    return _lists.get(key)


def saved_lists() -> dict[str, SavedList]:
    return dict(_lists)
