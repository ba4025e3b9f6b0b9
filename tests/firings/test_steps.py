"""The steps that a piece is to go: planned, done by the firings it is loaded into, or by hand."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.actions.load import piece_remove
from firings.actions.record import firing_call_off, firing_change, firing_open
from firings.actions.steps import (
    StepMovedOnError,
    piece_begin,
    step_add,
    step_again,
    step_done,
    step_move,
    step_reopen,
    step_skip,
    step_wait,
    steps_begin,
)
from firings.actions.waiting import waiting_put_in
from firings.models import Firing, FiringEvent, LoadedPiece, Piece, PieceStep, WaitingPiece
from schedules.models import Revision
from studio.models import Person
from tests.at_once import at_once
from tests.factories import (
    load_piece,
    make_class,
    make_family,
    make_firing,
    make_glass,
    make_person,
    make_revision,
    make_schedule,
)

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db

SLUMP = [("300", "540", 0), ("100", "670", 15), (None, "482", 60), ("80", "370", 0)]


@pytest.fixture
def fuse(artist: Person) -> Revision:
    return make_revision(make_schedule(artist))


@pytest.fixture
def slump(artist: Person) -> Revision:
    return make_revision(make_schedule(artist, name="Slump, gentle", process="slump"), SLUMP)


@pytest.fixture
def piece(artist: Person) -> Piece:
    return piece_begin(maker=artist, title="Tide bowl", sequence="fuse_slump")


def standings(piece: Piece) -> list[str]:
    steps = PieceStep.objects.with_standing().filter(piece=piece).order_by("position")
    return [step.standing for step in steps]


def step_of(piece: Piece, kind: str) -> PieceStep:
    return PieceStep.objects.with_standing().filter(piece=piece, kind=kind).order_by("position")[0]


def at(name: str, *args: object) -> str:
    return reverse(f"firings:{name}", args=args)


def lay(firing: Firing, piece: Piece, **facts: Any) -> LoadedPiece:
    """Four sheets of 3 mm, 200 × 200 mm, unless told otherwise."""
    usual = {"layers": 4, "thickest_mm": 12.0, "thinnest_mm": 12.0,
             "length_mm": 200.0, "width_mm": 200.0}  # fmt: skip
    return load_piece(firing, piece=piece, **usual | facts)


def fused(piece: Piece, fuse: Revision, **facts: Any) -> LoadedPiece:
    """In a firing that was opened."""
    firing = make_firing(piece.maker, revision=fuse, state="firing")
    facts.setdefault("glass", make_glass())
    loaded = lay(firing, piece, **facts)
    firing_open(firing=firing, opened_by=piece.maker)
    return loaded


def test_a_step_is_done_once_its_firing_is_opened(piece: Piece, fuse: Revision) -> None:
    firing = make_firing(piece.maker, revision=fuse)
    lay(firing, piece)
    assert standings(piece) == ["in_load", "open"]
    firing.state, firing.started_at = "firing", timezone.now()
    firing.save()
    assert standings(piece) == ["in_kiln", "open"]
    firing_open(firing=firing, opened_by=piece.maker)
    assert standings(piece) == ["done", "open"]


def test_called_off_or_taken_out_it_is_still_to_be_done(piece: Piece, fuse: Revision) -> None:
    firing = make_firing(piece.maker, revision=fuse)
    lay(firing, piece)
    firing_call_off(firing=firing, by=piece.maker)
    assert standings(piece) == ["open", "open"]
    again = lay(make_firing(piece.maker, revision=fuse), piece)
    assert standings(piece) == ["in_load", "open"]
    piece_remove(loaded=again, by=piece.maker)
    assert standings(piece) == ["open", "open"]
    assert Piece.objects.filter(pk=piece.pk).exists()


def test_stopped_early_it_is_done_again_or_will_do(piece: Piece, fuse: Revision) -> None:
    loaded = fused(piece, fuse)
    FiringEvent.objects.create(firing=loaded.firing, kind="stopped_early", noted_by=piece.maker)
    assert standings(piece) == ["stopped", "open"]
    done = step_done(step=step_of(piece, "full_fuse"), by=piece.maker, done_on=timezone.localdate())
    assert standings(piece) == ["done", "open"]
    step_reopen(step=done)
    fused(piece, fuse)
    assert standings(piece) == ["done", "open"]


def test_fired_by_another_process_it_does_another_step(
    piece: Piece, fuse: Revision, slump: Revision
) -> None:
    firing = make_firing(piece.maker, revision=fuse)
    lay(firing, piece)
    firing_change(firing=firing, changes={"revision": slump})
    assert standings(piece) == ["open", "in_load"]
    firing_change(
        firing=Firing.objects.get(pk=firing.pk),
        changes={"revision": make_revision(make_schedule(piece.maker, process="tack_fuse"))},
    )
    assert standings(piece) == ["open", "open"]


def test_what_it_was_fired_for_before_is_done(
    artist: Person, fuse: Revision, slump: Revision
) -> None:
    old = load_piece(make_firing(artist, revision=fuse, state="opened")).piece
    steps_begin(piece=old, sequence="fuse_cut_slump_polish")
    assert standings(old) == ["done", "open", "open", "open"]
    with pytest.raises(StepMovedOnError, match="steps already"):
        steps_begin(piece=old, sequence="fuse_slump")


def test_a_firing_before_a_step_was_planned_did_not_do_it(artist: Person, fuse: Revision) -> None:
    old = load_piece(make_firing(artist, revision=fuse, state="opened")).piece
    step_add(piece=old, kind="full_fuse")
    assert standings(old) == ["open"]


def test_in_two_loads_at_a_time_it_is_done_by_one(piece: Piece, fuse: Revision) -> None:
    step_add(piece=piece, kind="full_fuse")
    first, second = (make_firing(piece.maker, revision=fuse) for _ in range(2))
    lay(first, piece)
    lay(second, piece)
    assert standings(piece) == ["in_load", "open", "open"]
    firing_call_off(firing=first, by=piece.maker)
    assert standings(piece) == ["in_load", "open", "open"]
    assert step_of(piece, "full_fuse").loaded.firing == second


def test_done_again_right_after_it(piece: Piece, fuse: Revision) -> None:
    with pytest.raises(StepMovedOnError, match="still to be done"):
        step_again(step=step_of(piece, "full_fuse"))
    fused(piece, fuse)
    step_again(step=step_of(piece, "full_fuse"))
    kinds = [step.kind for step in piece.steps.order_by("position")]
    assert kinds == ["full_fuse", "full_fuse", "slump"]
    with pytest.raises(StepMovedOnError, match="again already"):
        step_again(step=step_of(piece, "full_fuse"))
    fused(piece, fuse, layers=1)
    assert standings(piece) == ["done", "done", "open"]


def test_a_piece_is_begun_by_a_ready_made_sequence(student: Person, signed_in: SignIn) -> None:
    browser = signed_in(student)
    shown = browser.get(at("piece_begin")).text
    assert "full fuse → cut → slump → fire polish" in shown
    assert "pâte de verre: cast → coldwork, polish" in shown
    told = {"title": "", "maker": student.pk, "sequence": "fuse_slump", "wanted_by": "2020-01-01"}
    refused = browser.post(at("piece_begin"), told).context["form"]
    assert set(refused.errors) == {"title", "wanted_by"}
    assert refused["sequence"].value() == "fuse_slump"
    page = browser.post(
        at("piece_begin"), told | {"title": "Weir", "wanted_by": "2999-01-01"}, follow=True
    )
    assert "Next: full fuse" in page.text
    begun = Piece.objects.get()
    assert step_of(begun, "full_fuse").wanted_by is None
    assert step_of(begun, "slump").wanted_by is not None


def test_moved_among_those_to_come(artist: Person, fuse: Revision) -> None:
    piece = piece_begin(maker=artist, title="Weir", sequence="fuse_cut_slump_polish")
    fused(piece, fuse)
    step_move(step=step_of(piece, "cut"), earlier=True)  # the fuse is done
    step_move(step=step_of(piece, "slump"), earlier=True)
    kinds = [step.kind for step in piece.steps.order_by("position")]
    assert kinds == ["full_fuse", "slump", "cut", "fire_polish"]


def test_skipped_with_a_reason_and_opened_again(
    piece: Piece, fuse: Revision, signed_in: SignIn
) -> None:
    step, browser = step_of(piece, "full_fuse"), signed_in(piece.maker)
    assert browser.post(at("step_skip", step.pk), {"reason": ""}).context["form"].errors["reason"]
    browser.post(at("step_skip", step.pk), {"reason": "Bought as a blank."})
    assert standings(piece) == ["skipped", "open"]
    assert "skipped: Bought as a blank." in browser.get(at("piece_detail", piece.pk)).text
    with pytest.raises(StepMovedOnError, match="skipped already"):
        step_skip(step=step, reason="Once more")
    browser.post(at("step_reopen", step.pk))
    assert standings(piece) == ["open", "open"]


def test_a_firing_is_done_by_no_hand(piece: Piece) -> None:
    with pytest.raises(ValidationError, match="once its kiln is opened"):
        step_done(step=step_of(piece, "slump"), by=piece.maker, done_on=timezone.localdate())


def test_a_cut_takes_glass_away(artist: Person, fuse: Revision, signed_in: SignIn) -> None:
    piece, browser = (
        piece_begin(maker=artist, title="Weir", sequence="fuse_cut_slump_polish"),
        signed_in(artist),
    )
    fused(piece, fuse)
    address = at("step_done", step_of(piece, "cut").pk)
    told = {"done_on": f"{timezone.localdate():%Y-%m-%d}", "length_after_mm": "240",
            "width_after_mm": "120"}  # fmt: skip
    assert browser.get(address).context["form"]["done_on"].value() == timezone.localdate()
    refused = browser.post(address, told)
    assert "It is 200 × 200 mm now" in refused.text
    assert 'value="120"' in refused.text
    later = browser.post(address, told | {"done_on": "2999-01-01"})
    assert "still to come" in later.text
    browser.post(address, told | {"length_after_mm": "150"})
    assert standings(piece) == ["done", "done", "open", "open"]
    page = browser.get(at("piece_detail", piece.pk)).text
    assert "one piece of 12 mm since the full fuse" in page
    assert "150 × 120 mm" in page
    assert "Done already" not in page
    again = browser.post(address, told | {"length_after_mm": "150"}, follow=True)
    assert "was done already, on" in again.text


def test_put_on_the_list_as_it_is_now_and_done_from_there(
    piece: Piece, fuse: Revision, slump: Revision, signed_in: SignIn
) -> None:
    browser, day = signed_in(piece.maker), timezone.localdate() + timedelta(days=9)
    glass = fused(piece, fuse, length_after_mm=240.0, width_after_mm=200.0).glass
    step = step_of(piece, "slump")
    step.wanted, step.wanted_by = "even rim", day
    step.save()
    browser.post(at("step_wait", step.pk))
    waiting = WaitingPiece.objects.get()
    # 12 mm × 200 × 200 on 240 × 200 mm is 10 mm.
    assert (waiting.layers, waiting.thickest_mm, waiting.length_mm) == (1, 10.0, 240.0)
    assert (waiting.process, waiting.glass, waiting.wanted_by) == ("slump", glass, day)
    assert waiting.wanted == "even rim"
    told = browser.post(at("step_wait", step.pk), follow=True)
    assert "waits for a kiln already" in told.text
    firing = make_firing(piece.maker, revision=slump)
    waiting_put_in(firing=firing, waiting=[waiting.pk], by=piece.maker)
    assert standings(piece) == ["done", "in_load"]
    firing.state, firing.started_at = "firing", timezone.now()
    firing.save()
    firing_open(firing=firing, opened_by=piece.maker)
    assert standings(piece) == ["done", "done"]
    assert "All of its steps are done." in browser.get(at("piece_detail", piece.pk)).text


def test_what_is_not_known_is_asked(piece: Piece, signed_in: SignIn) -> None:
    browser = signed_in(piece.maker)
    page = browser.post(at("step_wait", step_of(piece, "full_fuse").pk), follow=True)
    form = page.context["form"]
    assert (form["process"].value(), form["piece"].value()) == ("full_fuse", piece.pk)
    assert not WaitingPiece.objects.exists()
    with pytest.raises(ValidationError):
        step_wait(step=step_of(piece, "full_fuse"), by=piece.maker)


def test_into_a_load_it_goes_as_one_piece(
    piece: Piece, fuse: Revision, slump: Revision, signed_in: SignIn
) -> None:
    browser = signed_in(piece.maker)
    fused(piece, fuse)
    planned = {"kiln": Firing.objects.get().kiln_id, "revision": slump.pk,
               "fired_by": piece.maker_id, "title": "Tide bowl"}  # fmt: skip
    page = browser.post(f"{at('firing_plan')}?piece={piece.pk}", planned, follow=True)
    form = page.context["form"]
    assert (form["layers"].value(), form["thickest_mm"].value()) == (1, "12")
    assert form["piece"].value() == piece.pk
    assert "one piece of 12 mm since the full fuse of" in page.text


def test_the_check_speaks_of_the_piece_as_it_is(
    piece: Piece, fuse: Revision, slump: Revision, signed_in: SignIn
) -> None:
    fused(piece, fuse)
    step = step_of(piece, "slump")
    step.schedule = slump.schedule
    step.save()
    page = signed_in(piece.maker).get(at("piece_detail", piece.pk))
    check = page.context["shown"].check
    assert check.thickest_mm == pytest.approx(12.0)
    assert check.is_thicker
    assert check.keyed_c_per_h == pytest.approx(300.0)
    # The gentle rate of practice for 12 mm, as the check itself has it.
    heating = check.remarks.named("heating_fast-1").remark
    assert heating.limit == check.heating_c_per_h
    assert "Slump, gentle is written for up to 6 mm" in page.text.replace("</a>", "")
    assert f"has {round(check.keyed_c_per_h)} °C/h" in page.text
    own = page.text[page.text.index("/schedules/add/?from=") :].split('"')[0].replace("&amp;", "&")
    begun = signed_in(piece.maker).get(own).context["editor"]
    assert begun.facts["thickest_mm"].value() == "12.0"
    assert begun.facts["process"].value() == "slump"
    assert float(begun.segments.forms[0]["rate"].value()) < 300.0


def test_who_sees_what_is_wanted(
    artist: Person, student: Person, instructor: Person, keeper: Person, signed_in: SignIn
) -> None:
    day = timezone.localdate()
    piece_begin(maker=artist, title="Later", sequence="fuse_slump", wanted_by=day)
    late = piece_begin(maker=artist, title="Late", sequence="fuse_slump", wanted_by=day)
    PieceStep.objects.filter(piece=late, kind="slump").update(wanted_by=day - timedelta(days=3))
    undated = piece_begin(maker=student, title="Undated", sequence="paste_coldwork")
    shown = signed_in(keeper).get(at("step_list")).context["page"].object_list
    assert [line.step.piece.title for line in shown] == ["Late", "Later", "Undated"]
    assert [line.days_late for line in shown] == [3, 0, 0]
    mine = signed_in(student).get(at("step_list")).context["page"].object_list
    assert [line.step.piece for line in mine] == [undated]
    make_class(instructor, students=[student])
    make_class(make_person("wren", role="instructor"), students=[make_person("tove")])
    taught = signed_in(instructor).get(at("step_list")).context["page"].object_list
    assert [line.step.piece for line in taught] == [undated]
    front = signed_in(artist).get(at("today")).text
    assert "3 days late" in front


def test_a_schedule_for_another_glass_is_told(
    piece: Piece, fuse: Revision, slump: Revision, signed_in: SignIn
) -> None:
    fused(piece, fuse, glass=make_glass(family=make_family("float", expansion=86.0)))
    step = step_of(piece, "slump")
    step.schedule = slump.schedule
    step.save()
    page = signed_in(piece.maker).get(at("piece_detail", piece.pk)).text
    assert "is written for soft 90, and the piece is float" in page.replace("</a>", "")
    assert "Nothing speaks against it" not in page


def test_a_schedule_of_another_process_and_a_past_day_are_told(
    piece: Piece, fuse: Revision, signed_in: SignIn
) -> None:
    browser = signed_in(piece.maker)
    told = {"kind": "slump", "schedule": fuse.schedule_id, "wanted_by": "2020-01-01", "wanted": "x"}
    form = browser.post(at("step_add", piece.pk), told).context["form"]
    assert "written for full fuse" in form.errors["schedule"][0]
    assert "past" in form.errors["wanted_by"][0]
    assert form["wanted"].value() == "x"
    step = step_of(piece, "slump")
    browser.post(at("step_change", step.pk), {"kind": "drape", "wanted": "over a form"})
    assert step_of(piece, "drape").wanted == "over a form"


def test_list_asks_as_often_for_one_as_for_many(
    artist: Person, fuse: Revision, signed_in: SignIn
) -> None:
    browser, day = signed_in(artist), timezone.localdate()

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            browser.get(at("step_list"))
        return len(queries)

    def begin(title: str) -> None:
        made = piece_begin(maker=artist, title=title, sequence="fuse_slump", wanted_by=day)
        lay(make_firing(artist, revision=fuse), made)

    begin("First")
    asked()
    few = asked()
    for number in range(4):
        begin(f"Piece {number}")
    assert asked() == few


@pytest.mark.django_db(transaction=True)
def test_of_two_who_end_it_at_once_one_is_told(artist: Person) -> None:
    piece = piece_begin(maker=artist, title="Weir", sequence="paste_coldwork")
    step = step_of(piece, "coldwork")
    people = [artist, make_person("wilf")]
    told = at_once(lambda by: step_done(step=step, by=by, done_on=timezone.localdate()), people)
    assert [isinstance(each, StepMovedOnError) for each in told].count(True) == 1
    assert standings(piece) == ["open", "done"]


@pytest.mark.django_db(transaction=True)
def test_of_two_who_put_it_on_the_list_at_once_one_is_told(artist: Person) -> None:
    fuse = make_revision(make_schedule(artist))
    piece = piece_begin(maker=artist, title="Weir", sequence="fuse_slump")
    fused(piece, fuse)
    step = step_of(piece, "slump")
    told = at_once(lambda by: step_wait(step=step, by=by), [artist, make_person("wilf")])
    assert [isinstance(each, ValidationError) for each in told].count(True) == 1
    assert WaitingPiece.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_loaded_twice_at_once_it_is_done_once(artist: Person) -> None:
    fuse = make_revision(make_schedule(artist))
    piece = piece_begin(maker=artist, title="Weir", sequence="fuse_slump")
    firings = [make_firing(artist, revision=fuse) for _ in range(2)]
    at_once(lambda firing: lay(firing, piece), firings)
    assert piece.firings.count() == 2
    assert PieceStep.objects.exclude(loaded=None).count() == 1
    assert standings(piece) == ["in_load", "open"]
