"""A list is brought in whole or not at all, whatever happens on the way."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.utils import timezone

from studio.actions.list_import import list_begin, list_cancel, list_look_again, lists_forget
from studio.actions.list_run import list_run, run_beside
from studio.actions.stock import stock_take
from studio.list_progress import progress_of, stop_ask
from studio.models import GlassKind, GlassLot, ImportState, ListImport, Person, StockMovement
from studio.services.stock import Rectangle
from tests.at_once import at_once
from tests.factories import make_family, make_glass, make_lot, make_person
from tests.studio.lists.bringing import begun, brought_in, csv_file, previewed, sheets, wait_for
from tests.studio.lists.slow_shelf import ShelfInUse, in_its_place, slow_shelf

COUNTED = ("lot", "length (mm)", "width (mm)", "pieces")


def test_new_and_counted_lots_leave_the_sums_right(keeper: Person) -> None:
    make_family()
    lot = make_lot(keeper, make_glass(code="s-204"))
    raw = csv_file(
        ("lot", "code", "length (mm)", "width (mm)", "pieces", "place"),
        (lot.pk, "", 500, 400, 0, "rack D"),
        (lot.pk, "", 300, 200, 4, "rack D"),
        ("", "s-204", 600, 500, 3, "rack E"),
    )

    taken = brought_in(keeper, raw)

    assert (taken.state, taken.fates["changed"], taken.fates["new"]) == (ImportState.DONE, 2, 1)
    lot.refresh_from_db()
    assert (lot.place, lot.remaining) == ("rack D", 4 * 60_000)
    assert [each.what for each in lot.movements.order_by("pk")] == ["received", *["counted"] * 2]
    assert {each.reason for each in StockMovement.objects.all()} == {"", "list shelf.csv"}
    call_command("stock_check")


def test_refused_rows_are_left_out_and_the_others_written(keeper: Person) -> None:
    make_family()
    rows = sheets(2) + b"hard 104,x,plum,sheet,3,500,400,2,,\r\n"
    taken = brought_in(keeper, rows)
    assert (GlassLot.objects.count(), taken.fates["refused"]) == (2, 1)


def nothing_stays() -> bool:
    left = (GlassLot.objects.exists(), GlassKind.objects.exists(), StockMovement.objects.exists())
    return not any(left)


@pytest.mark.django_db(transaction=True)
def test_cancelled_half_way_leaves_no_trace() -> None:
    with slow_shelf() as shelf:
        make_family()
        keeper = make_person("mads", role="keeper")
        taken = begun(keeper, sheets(1200))
        run_beside(taken)

        assert shelf.half_way.wait(30)
        told = progress_of(taken.pk)
        assert told is not None
        assert 0 < told.rows < told.of
        assert nothing_stays()  # nobody sees half of it
        list_cancel(taken=taken)
        shelf.go_on.set()
        wait_for(taken)

        taken.refresh_from_db()
        assert (taken.state, taken.failure) == (ImportState.CANCELLED, "")
        assert nothing_stays()
        assert progress_of(taken.pk) is None
        call_command("stock_check")


@pytest.mark.django_db(transaction=True)
def test_failed_half_way_leaves_no_trace_and_can_be_done_again(
    caplog: pytest.LogCaptureFixture,
) -> None:
    with slow_shelf(fails=True) as shelf:
        shelf.go_on.set()
        make_family()
        taken = begun(make_person("mads", role="keeper"), sheets(600))
        run_beside(taken)
        wait_for(taken)

        taken.refresh_from_db()
        assert (taken.state, taken.failure) == (ImportState.FAILED, "error")
        assert "the disk is full" in caplog.text
        assert nothing_stays()

        shelf.fails = False
        taken = list_run(taken=list_begin(taken=list_look_again(taken=taken)))
        assert taken.state == ImportState.DONE
        assert GlassLot.objects.count() == 600


@pytest.mark.django_db(transaction=True)
def test_pages_answer_while_it_runs(signed_in: Callable[..., object]) -> None:
    with slow_shelf() as shelf:
        make_family()
        keeper = make_person("mads", role="keeper")
        browser = signed_in(keeper)
        taken = begun(keeper, sheets(1200))
        run_beside(taken)
        assert shelf.half_way.wait(30)

        address = f"/lists/brought/{taken.pk}/"
        page = browser.get(address)  # type: ignore[attr-defined]
        assert "It is being brought in" in page.text
        assert "<progress" in page.text
        part = browser.get(address, headers={"HX-Request": "true"})  # type: ignore[attr-defined]
        assert part.text.startswith('<section class="card" id="list-progress"')
        page = browser.post(f"{address}cancel/", follow=True)  # type: ignore[attr-defined]
        assert "nothing of it will stay" in page.text
        shelf.go_on.set()
        wait_for(taken)

        part = browser.get(address, headers={"HX-Request": "true"})  # type: ignore[attr-defined]
        assert part.headers["HX-Refresh"] == "true"
        assert "Nothing of it was written" in browser.get(address).text  # type: ignore[attr-defined]


@pytest.mark.django_db(transaction=True)
def test_of_two_at_once_one_is_told_to_wait() -> None:
    make_family()
    people = [make_person("mads", role="keeper"), make_person("inka")]
    waiting = [previewed(person, sheets(3)) for person in people]

    answers = at_once(lambda taken: list_begin(taken=taken), waiting)

    told = [answer for answer in answers if isinstance(answer, ValidationError)]
    assert [error.code for error in told] == ["running"]
    assert ListImport.objects.filter(state=ImportState.RUNNING).count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_lists_one_after_the_other_make_a_glass_once() -> None:
    make_family()
    keeper = make_person("mads", role="keeper")
    first, second = previewed(keeper, sheets(3)), previewed(keeper, sheets(3) + b"\r\n")

    assert list_run(taken=list_begin(taken=first)).state == ImportState.DONE
    late = list_run(taken=list_begin(taken=second))

    assert (late.state, late.failure) == (ImportState.FAILED, "moved_on")
    assert GlassKind.objects.count() == GlassLot.objects.count() == 3


def test_what_stopped_with_the_server_is_told_and_looked_at_again(
    keeper: Person,
) -> None:
    make_family()
    taken = begun(keeper, sheets(3))
    taken.begun_at = taken.begun_at.replace(year=2020)  # type: ignore[union-attr]
    taken.save()

    other = begun(keeper, csv_file(("family", "colour", "form", "mass (g)"),
                                   ("soft 90", "fern", "frit", 5)))  # fmt: skip

    taken.refresh_from_db()
    assert (taken.state, taken.failure) == (ImportState.FAILED, "stopped")
    assert list_run(taken=other).state == ImportState.DONE
    assert list_look_again(taken=taken).state == ImportState.PREVIEWED


def test_run_that_was_taken_for_dead_writes_nothing(keeper: Person) -> None:
    make_family()
    taken = begun(keeper, sheets(3))
    ListImport.objects.filter(pk=taken.pk).update(begun_at=taken.begun_at.replace(year=2030))  # type: ignore[union-attr]

    list_run(taken=taken)

    taken.refresh_from_db()
    assert taken.state == ImportState.RUNNING  # of the other run
    assert nothing_stays()


def test_stop_before_the_first_row(keeper: Person) -> None:
    make_family()
    taken = begun(keeper, sheets(3))
    stop_ask(taken.pk)
    assert list_run(taken=taken).state == ImportState.CANCELLED
    assert nothing_stays()


def test_what_was_never_brought_in_is_forgotten_after_a_month(keeper: Person) -> None:
    make_family()
    done = brought_in(keeper, sheets(1))
    previewed(keeper, sheets(2))
    ListImport.objects.update(made_at=timezone.now() - timedelta(days=31))
    fresh = previewed(keeper, sheets(3))

    lists_forget()

    assert {*ListImport.objects.values_list("pk", flat=True)} == {done.pk, fresh.pk}


def test_what_somebody_does_meanwhile_elsewhere_is_of_no_matter(keeper: Person) -> None:
    lot, other = make_lot(keeper), make_lot(keeper, make_glass(colour="fern"))
    taken = begun(keeper, csv_file(COUNTED, (lot.pk, 500, 400, 1)))
    with in_its_place(ShelfInUse(lambda: stock_take_of(other, keeper))):
        assert list_run(taken=taken).state == ImportState.DONE
    assert lot.movements.count() == 2
    call_command("stock_check")


def test_what_somebody_does_meanwhile_to_a_row_s_lot_stops_it(keeper: Person) -> None:
    lot = make_lot(keeper)
    taken = begun(keeper, csv_file(COUNTED, (lot.pk, 500, 400, 1), ("", 100, 100, 1)))
    with in_its_place(ShelfInUse(lambda: stock_take_of(lot, keeper))):
        taken = list_run(taken=taken)
    assert (taken.state, taken.failure) == (ImportState.FAILED, "moved_on")
    assert [each.what for each in lot.movements.order_by("pk")] == ["received", "broken"]


def stock_take_of(lot: GlassLot, by: Person) -> None:
    stock_take(lot=lot, by=by, what="broken", amount=1, size=Rectangle(500, 400))
