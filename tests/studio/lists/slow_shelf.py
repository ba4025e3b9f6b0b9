"""The shelf itself, brought in slowly enough to look at it half-way."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from threading import Event

from studio import lists
from studio.actions.brought_lists import BroughtShelf
from studio.lists import Tick
from studio.models import Person
from studio.services.lists.fates import Judged


class SlowShelf(BroughtShelf):
    """Waits half-way until it is let go, or fails there."""

    def __init__(self, *, fails: bool) -> None:
        self.half_way, self.go_on = Event(), Event()
        self.fails = fails

    def write(self, rows: Sequence[Judged], *, by: Person, reason: str, tick: Tick) -> None:
        def wait_half_way(done: int) -> None:
            tick(done)
            self.half_way.set()
            assert self.go_on.wait(30)
            if self.fails:
                raise RuntimeError("the disk is full")

        super().write(rows, by=by, reason=reason, tick=wait_half_way)


@contextmanager
def slow_shelf(*, fails: bool = False) -> Iterator[SlowShelf]:
    """In the shelf's place, as long as it lasts."""
    before, shelf = lists.brought_lists()["shelf"], SlowShelf(fails=fails)
    lists.list_brought("shelf", shelf)
    try:
        yield shelf
    finally:
        shelf.go_on.set()
        lists.list_brought("shelf", before)
