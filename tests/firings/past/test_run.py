"""Past firings come in whole or not at all, whatever happens on the way."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from threading import Event

import pytest

from firings.actions.afterwards import firing_note_afterwards
from firings.actions.past import BroughtFirings
from firings.models import BroughtFiring, Firing, LoadedPiece, Piece
from schedules.models import Revision
from studio import lists
from studio.actions.list_import import list_begin, list_cancel, list_preview, list_take_in
from studio.actions.list_run import list_run, run_beside
from studio.list_progress import progress_of
from studio.lists import Tick
from studio.models import ImportState, Kiln, ListImport, Person
from studio.models.trail import records_of
from studio.services.lists.fates import Judged
from studio.services.lists.table import read_table
from tests.at_once import at_once
from tests.factories import make_kiln, make_person, make_revision, make_schedule
from tests.firings.past.mixed import messy_file, refused_in
from tests.firings.past.sheets import ROW, csv_of
from tests.studio.lists.bringing import wait_for

pytestmark = pytest.mark.django_db(transaction=True)

ROWS = 900


class SlowPast(BroughtFirings):
    """Waits half-way until it is let go."""

    def __init__(self) -> None:
        self.half_way, self.go_on = Event(), Event()

    def write(self, rows: Sequence[Judged], *, taken: ListImport, reason: str, tick: Tick) -> None:
        def wait_half_way(done: int) -> None:
            tick(done)
            self.half_way.set()
            assert self.go_on.wait(60)

        super().write(rows, taken=taken, reason=reason, tick=wait_half_way)


@contextmanager
def slow_past() -> Iterator[SlowPast]:
    before, slow = lists.brought_lists()["firings"], SlowPast()
    lists.list_brought("firings", slow)
    try:
        yield slow
    finally:
        slow.go_on.set()
        lists.list_brought("firings", before)


def studio() -> tuple[Person, Kiln, Revision]:
    keeper = make_person("mads", role="keeper")
    make_person("inka", name="Inka")
    return keeper, make_kiln(), make_revision(make_schedule(keeper, name="Schedule 0"))


def looked_at(by: Person, raw: bytes) -> ListImport:
    taken = list_take_in(kind="firings", by=by, name="past.csv", raw=raw, table=read_table(raw))
    return list_preview(
        taken=taken, places=taken.places, decimal=".", day_first=True, temperature_unit="C"
    )


def nothing_stays() -> bool:
    left = (Firing, Piece, LoadedPiece, BroughtFiring, records_of(Firing))
    return not any(model._base_manager.exists() for model in left)


def test_cancelled_half_way_leaves_nothing() -> None:
    with slow_past() as slow:
        keeper, _, _ = studio()
        taken = list_begin(taken=looked_at(keeper, messy_file(ROWS, kilns=1, schedules=1)))
        run_beside(taken)

        assert slow.half_way.wait(60)
        told = progress_of(taken.pk)
        assert told is not None
        assert 0 < told.rows < told.of
        assert nothing_stays()  # nobody sees half of it
        list_cancel(taken=taken)
        slow.go_on.set()
        wait_for(taken)

    taken.refresh_from_db()
    assert (taken.state, taken.failure) == (ImportState.CANCELLED, "")
    assert nothing_stays()
    assert progress_of(taken.pk) is None


def test_all_kinds_of_mess_at_once_and_again() -> None:
    keeper, _, _ = studio()
    raw = messy_file(ROWS, kilns=1, schedules=1)
    refused = refused_in(ROWS)

    done = list_run(taken=list_begin(taken=looked_at(keeper, raw)))

    assert (done.state, done.fates["refused"]) == (ImportState.DONE, refused)
    assert Firing.objects.count() == BroughtFiring.objects.count() == ROWS - refused
    again = looked_at(keeper, raw)
    assert again.fates == {"refused": refused, "changed": 0, "new": 0, "same": ROWS - refused}


def test_two_lists_of_the_same_make_each_firing_once() -> None:
    keeper, _, _ = studio()
    raw = csv_of(ROW | {"schedule": "Schedule 0", "maker": "Inka"})
    first, second = looked_at(keeper, raw), looked_at(keeper, raw + b"\r\n")

    assert list_run(taken=list_begin(taken=first)).state == ImportState.DONE
    late = list_run(taken=list_begin(taken=second))

    assert (late.state, late.failure) == (ImportState.FAILED, "moved_on")
    assert Firing.objects.count() == 1


def test_a_list_and_somebody_who_notes_the_same_firing_at_once() -> None:
    """Whoever comes second is told: no firing stands there twice."""
    keeper, kiln, revision = studio()
    raw = csv_of(ROW | {"date": "2024-03-04 09:30", "schedule": "Schedule 0", "maker": "Inka"})
    taken = list_begin(taken=looked_at(keeper, raw))
    starts = taken.made_at.replace(year=2024, month=3, day=4, hour=9, minute=30)

    def note() -> Firing:
        return firing_note_afterwards(
            kiln=kiln,
            revision=revision,
            fired_by=keeper,
            written_by=keeper,
            started_at=starts,
            opened_at=starts.replace(hour=20),
            title="Moss tile",
            piece={"layers": 2},
            verdict=0,
        )

    at_once(lambda act: act(), [note, lambda: list_run(taken=taken)])

    taken.refresh_from_db()
    assert taken.state in (ImportState.DONE, ImportState.FAILED)
    assert Firing.objects.count() == 1
