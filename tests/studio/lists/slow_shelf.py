"""The shelf itself, brought in slowly enough to look at it half-way, or in use meanwhile."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from threading import Event
from typing import TypeVar

from studio import lists
from studio.actions.brought_lists import BroughtShelf
from studio.lists import Tick
from studio.models import ListImport
from studio.services.lists.fates import Judged
from studio.services.lists.known_shelf import Shelf
from studio.services.lists.shelf import ShelfJudge
from studio.services.lists.values import Reading

T = TypeVar("T", bound=BroughtShelf)


class SlowShelf(BroughtShelf):
    """Waits half-way until it is let go, or fails there."""

    def __init__(self, *, fails: bool) -> None:
        self.half_way, self.go_on = Event(), Event()
        self.fails = fails

    def write(self, rows: Sequence[Judged], *, taken: ListImport, reason: str, tick: Tick) -> None:
        def wait_half_way(done: int) -> None:
            tick(done)
            self.half_way.set()
            assert self.go_on.wait(30)
            if self.fails:
                raise RuntimeError("the disk is full")

        super().write(rows, taken=taken, reason=reason, tick=wait_half_way)


class ShelfInUse(BroughtShelf):
    """Somebody else does something to the shelf while rows are judged, once."""

    def __init__(self, act: Callable[[], object]) -> None:
        self.acts = [act]

    def judge(self, known: Shelf, reading: Reading) -> ShelfJudge:
        if self.acts:
            self.acts.pop()()
        return super().judge(known, reading)


@contextmanager
def in_its_place(shelf: T) -> Iterator[T]:
    """In the shelf's place, as long as it lasts."""
    before = lists.brought_lists()["shelf"]
    lists.list_brought("shelf", shelf)
    try:
        yield shelf
    finally:
        lists.list_brought("shelf", before)


@contextmanager
def slow_shelf(*, fails: bool = False) -> Iterator[SlowShelf]:
    with in_its_place(SlowShelf(fails=fails)) as shelf:
        try:
            yield shelf
        finally:
            shelf.go_on.set()
