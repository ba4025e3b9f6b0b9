"""The load page and the forms of its pieces."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.models import Fault, Firing, LoadedPiece, Piece
from firings.queries.load import load_check, load_remarks
from firings.queries.record import firing_for_page
from schedules.actions.silence import remark_silence
from schedules.wording import RemarkLine
from studio.models import Person
from tests.factories import (
    load_piece,
    make_family,
    make_firing,
    make_glass,
    make_kiln,
    make_place,
    make_revision,
    make_schedule,
)

SignedIn = Callable[[Person], Client]


def at(view: str, pk: int) -> str:
    return reverse(f"firings:{view}", args=[pk])


def piece(**overrides: Any) -> dict[str, Any]:
    return {"title": "Tide bowl", "layers": "2", "thickest_mm": "6"} | overrides


def test_piece_is_put_into_the_load_with_all_its_facts(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    glass, place = make_glass(), make_place(firing.kiln)
    told = piece(
        maker=artist.pk,
        glass=glass.pk,
        place=place.pk,
        wanted="flat",
        length_mm="210,5",
        width_mm="180",
    )
    answer = signed_in(artist).post(at("piece_add", firing.pk), told)
    assert answer.url == at("load_edit", firing.pk)
    loaded = firing.load.get()
    assert (loaded.piece.title, loaded.piece.maker) == ("Tide bowl", artist)
    assert (loaded.glass, loaded.place, loaded.wanted) == (glass, place, "flat")
    assert (loaded.length_mm, loaded.width_mm, loaded.layers) == (210.5, 180, 2)
    assert loaded.is_served


def test_one_piece_of_a_load_is_served(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    browser = signed_in(artist)
    first = load_piece(firing)
    browser.post(at("piece_add", firing.pk), piece(maker=artist.pk, title="Second"))
    assert firing.load.get(is_served=True) == first
    browser.post(at("piece_add", firing.pk), piece(maker=artist.pk, title="Third", is_served="on"))
    assert firing.load.get(is_served=True).piece.title == "Third"


def test_served_piece_hands_over_only_to_another(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    served, other = load_piece(firing), load_piece(firing, title="Second")
    browser = signed_in(artist)
    page = browser.post(at("piece_edit", served.pk), piece())
    assert page.context["form"].errors["is_served"]
    browser.post(at("piece_edit", other.pk), piece(title="Second", is_served="on"))
    assert firing.load.get(is_served=True) == other


def test_piece_fired_before_keeps_its_history(artist: Person, signed_in: SignedIn) -> None:
    fused = load_piece(make_firing(artist, state="opened"), glass=make_glass())
    slump = make_firing(artist, revision=fused.firing.revision)
    browser = signed_in(artist)
    form = browser.get(at("piece_add", slump.pk), {"piece": fused.piece_id}).context["form"]
    assert form["glass"].value() == fused.glass_id
    told = piece(maker=artist.pk, title="", piece=fused.piece_id, glass=fused.glass_id)
    browser.post(at("piece_add", slump.pk), told)
    assert Piece.objects.get() == fused.piece
    page = browser.get(at("piece_detail", fused.piece_id))
    assert [each.firing for each in page.context["shown"].history] == [fused.firing, slump]


def test_piece_lies_in_a_load_once(artist: Person, signed_in: SignedIn) -> None:
    loaded = load_piece(make_firing(artist))
    told = piece(maker=artist.pk, piece=loaded.piece_id)
    page = signed_in(artist).post(at("piece_add", loaded.firing_id), told)
    assert page.context["form"].errors["piece"]


def test_artist_refires_own_pieces_only_and_an_instructor_any(
    artist: Person, student: Person, instructor: Person, signed_in: SignedIn
) -> None:
    theirs = load_piece(make_firing(student, state="opened"))
    again = make_firing(artist, revision=theirs.firing.revision)
    told = piece(maker=artist.pk, piece=theirs.piece_id)
    page = signed_in(artist).post(at("piece_add", again.pk), told)
    assert page.context["form"].errors["piece"]
    signed_in(instructor).post(at("piece_add", again.pk), told | {"maker": instructor.pk})
    assert again.load.get().piece.maker == student


def test_one_piece_never_mixes_families(artist: Person, signed_in: SignedIn) -> None:
    fused = load_piece(make_firing(artist, state="opened"), glass=make_glass())
    hard = make_glass(family=make_family("hard 104"))
    again = make_firing(artist, revision=fused.firing.revision)
    told = piece(maker=artist.pk, piece=fused.piece_id, glass=hard.pk)
    page = signed_in(artist).post(at("piece_add", again.pk), told)
    assert "never mixes families" in " ".join(page.context["form"].errors["glass"])


def test_load_of_two_families_is_warned_of(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    load_piece(firing, glass=make_glass())
    load_piece(firing, glass=make_glass(family=make_family("hard 104")), title="Amber")
    codes = {remark.code: remark.names for remark in load_remarks(firing_for_page(firing.pk))}
    assert codes == {
        "families_mixed": ("soft 90", "hard 104"),
        "other_family": ("hard 104",),
    }
    page = signed_in(artist).get(at("load_edit", firing.pk)).content.decode()
    assert "This load mixes families: soft 90, hard 104" in page


def test_piece_outside_the_schedules_thickness_is_warned_of(artist: Person) -> None:
    firing = make_firing(artist)
    load_piece(firing, thickest_mm=9.0)
    load_piece(firing, title="Plain")
    [remark] = load_remarks(firing_for_page(firing.pk))
    assert (remark.code, remark.names) == ("thickness_outside", ("Tide blank",))


@pytest.mark.parametrize(
    ("length", "width", "fits"),
    [(500.0, 450.0, True), (450.0, 500.0, True), (501.0, 100.0, False), (460.0, 460.0, False)],
)
def test_piece_larger_than_the_chamber_is_warned_of(
    artist: Person, signed_in: SignedIn, length: float, width: float, fits: bool
) -> None:
    firing = make_firing(artist, kiln=make_kiln(chamber_width_mm=500, chamber_depth_mm=450))
    load_piece(firing, length_mm=length, width_mm=width)
    severities = [line.severity for line in of_pieces(firing)]
    assert ("block" in severities) is not fits
    page = signed_in(artist).get(at("load_edit", firing.pk)).content.decode()
    assert ("The piece is wider than the chamber" in page) is not fits


def test_load_that_fits_says_nothing(artist: Person) -> None:
    firing = make_firing(artist)
    load_piece(firing, glass=make_glass())
    assert load_remarks(firing_for_page(firing.pk)) == []
    assert of_pieces(firing) == []


def of_pieces(firing: Firing) -> list[RemarkLine]:
    lines = load_check(firing_for_page(firing.pk), "C").remarks.lines
    return [line for line in lines if line.about]


def of_one_piece(firing: Firing) -> list[tuple[str, str]]:
    return [(line.severity, " ".join(line.words.split())) for line in of_pieces(firing)]


def test_glasses_of_one_piece_that_react_are_warned_of(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    told = piece(
        maker=artist.pk,
        glass=make_glass(carries_sulphur=True).pk,
        other_glasses=[make_glass(colour="turquoise", carries_copper=True).pk],
    )
    signed_in(artist).post(at("piece_add", firing.pk), told)
    [(severity, words)] = of_one_piece(firing)
    assert severity == "warn"
    assert "carries copper" in words
    page = signed_in(artist).get(at("load_edit", firing.pk)).text
    assert "<strong>Tide bowl.</strong> Glass with sulphur" in page
    assert "turquoise sheet" in page


def test_mould_that_does_not_go_with_the_process_is_warned_of(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist)
    told = piece(maker=artist.pk, mould="ceramic")
    signed_in(artist).post(at("piece_add", firing.pk), told)
    assert firing.load.get().mould == "ceramic"
    [(severity, words)] = of_one_piece(firing)
    assert severity == "warn"
    assert words.startswith("Fused in a mould for slumping")
    assert "a ceramic mould" in signed_in(artist).get(at("load_edit", firing.pk)).text


def test_planned_piece_never_mixes_families_and_a_fired_one_is_written_as_it_was(
    artist: Person, signed_in: SignedIn
) -> None:
    soft, hard = make_glass(), make_glass(family=make_family("hard 104"))
    told = piece(maker=artist.pk, glass=soft.pk, other_glasses=[hard.pk])
    planned = make_firing(artist)
    page = signed_in(artist).post(at("piece_add", planned.pk), told)
    assert "never mixes families" in " ".join(page.context["form"].errors["other_glasses"])
    assert page.context["form"]["other_glasses"].value() == [str(hard.pk)]
    fired = make_firing(artist, state="opened", revision=planned.revision)
    signed_in(artist).post(at("piece_add", fired.pk), told)
    assert of_one_piece(fired)[0][0] == "block"
    page = signed_in(artist).get(reverse("firings:firing_detail", args=[fired.pk]))
    assert "Glass of 2 families is in one piece" in page.text


def test_kiln_opened_too_hot_for_the_thickness_is_noted(artist: Person) -> None:
    firing = make_firing(artist, state="opened", opened_temperature_c=120.0)
    load_piece(firing)
    assert of_one_piece(firing) == []
    load_piece(firing, title="Block", thickest_mm=80.0, thinnest_mm=80.0)
    [(severity, words)] = of_one_piece(firing)
    assert severity == "note"
    assert "a piece of 80 mm may crack" in words
    assert words.startswith("Opened at 120")


def test_other_glasses_are_kept_changed_and_taken_along(
    artist: Person, signed_in: SignedIn
) -> None:
    loaded = load_piece(make_firing(artist, state="opened"), glass=make_glass(), mould="shelf")
    first, second = make_glass(colour="amber"), make_glass(colour="smoke")
    loaded.other_glasses.set([first])
    browser = signed_in(artist)
    browser.post(at("piece_edit", loaded.pk), piece(is_served="on", other_glasses=[second.pk]))
    assert list(loaded.other_glasses.all()) == [second]
    again = make_firing(artist, revision=loaded.firing.revision)
    form = browser.get(at("piece_add", again.pk), {"piece": loaded.piece_id}).context["form"]
    assert list(form["other_glasses"].value()) == [second.pk]
    assert not form["mould"].value()
    shown = browser.get(at("piece_detail", loaded.piece_id)).text
    assert "smoke sheet" in shown


def test_glass_that_another_adds_meanwhile_is_kept(artist: Person, signed_in: SignedIn) -> None:
    loaded = load_piece(make_firing(artist))
    one, another = make_glass(colour="amber"), make_glass(colour="smoke")
    loaded.other_glasses.set([one])
    shown = {"initial-other_glasses": [one.pk], "other_glasses": [one.pk]}
    loaded.other_glasses.add(another)
    told = piece(title="Tide bowl", is_served="on", **shown)
    signed_in(artist).post(at("piece_edit", loaded.pk), told)
    assert set(loaded.other_glasses.all()) == {one, another}


def test_archived_glass_stays_among_those_of_its_piece(artist: Person, signed_in: SignedIn) -> None:
    loaded = load_piece(make_firing(artist))
    old = make_glass(archived_at=timezone.now())
    loaded.other_glasses.set([old])
    form = signed_in(artist).get(at("piece_edit", loaded.pk)).context["form"]
    assert old in form.fields["other_glasses"].queryset
    assert old not in form.fields["glass"].queryset


@pytest.mark.parametrize(
    ("field", "wrong", "says"),
    [
        ("title", "", "Give the piece a name"),
        ("thickest_mm", "six", "number of millimetres"),
        ("thickest_mm", "0.1", "0.5"),
        ("thinnest_mm", "7", "thicker than the thickest"),
        ("length_mm", "-5", "0.1"),
        ("layers", "many", "whole number"),
        ("layers", "41", "40"),
        ("glass", "999999", "valid choice"),
    ],
)
def test_wrong_entry_is_said_at_its_field_and_the_rest_is_kept(
    artist: Person, signed_in: SignedIn, field: str, wrong: str, says: str
) -> None:
    firing = make_firing(artist)
    told = piece(maker=artist.pk, wanted="flat") | {field: wrong}
    page = signed_in(artist).post(at("piece_add", firing.pk), told)
    form = page.context["form"]
    assert form.errors.keys() == {field}
    assert says in " ".join(form.errors[field])
    assert (form["wanted"].value(), form[field].value()) == ("flat", wrong)
    assert not LoadedPiece.objects.exists()


def test_place_of_another_kiln_is_none_of_this(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    elsewhere = make_place(make_kiln("Wren"))
    told = piece(maker=artist.pk, place=elsewhere.pk)
    page = signed_in(artist).post(at("piece_add", firing.pk), told)
    assert page.context["form"].errors["place"]


def test_artist_adds_their_own_piece_to_anothers_planned_firing(
    artist: Person, student: Person, instructor: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(instructor)
    browser = signed_in(artist)
    browser.post(at("piece_add", firing.pk), piece(maker=artist.pk))
    assert firing.load.get().piece.maker == artist
    page = browser.post(at("piece_add", firing.pk), piece(maker=student.pk))
    assert page.context["form"].errors["maker"]


def test_opened_firing_of_another_takes_no_more(
    artist: Person, instructor: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(instructor, state="opened")
    assert signed_in(artist).get(at("piece_add", firing.pk)).status_code == 403
    assert signed_in(instructor).get(at("piece_add", firing.pk)).status_code == 200


def test_called_off_firing_takes_no_pieces(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="called_off", called_off_at=timezone.now())
    page = signed_in(artist).post(at("piece_add", firing.pk), piece(maker=artist.pk))
    assert "called off" in str(page.context["form"].non_field_errors())
    assert not Piece.objects.exists()


def test_maker_changes_their_piece_and_no_other(
    artist: Person, student: Person, instructor: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(instructor)
    mine, theirs = load_piece(firing, maker=artist), load_piece(firing, maker=student, title="Two")
    browser = signed_in(artist)
    browser.post(at("piece_edit", mine.pk), piece(title="Renamed", is_served="on", thickest_mm="7"))
    mine.refresh_from_db()
    assert (mine.piece.title, mine.thickest_mm) == ("Renamed", 7)
    assert browser.get(at("piece_edit", theirs.pk)).status_code == 403
    assert browser.post(at("piece_remove", theirs.pk)).status_code == 403


def test_removed_piece_leaves_its_history_but_not_an_empty_one(
    artist: Person, signed_in: SignedIn
) -> None:
    fused = load_piece(make_firing(artist, state="opened"))
    slump = make_firing(artist, revision=fused.firing.revision)
    again = load_piece(slump, piece=fused.piece)
    new = load_piece(slump, title="New")
    browser = signed_in(artist)
    browser.post(at("piece_remove", again.pk))
    assert Piece.objects.filter(pk=fused.piece_id).exists()
    new.refresh_from_db()
    assert new.is_served
    browser.post(at("piece_remove", new.pk))
    assert not Piece.objects.filter(pk=new.piece_id).exists()


def test_judged_piece_stays_in_the_record(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist, state="opened")
    judged, cracked = load_piece(firing, verdict=0), load_piece(firing, title="Cracked")
    Fault.objects.create(loaded_piece=cracked, kind="stuck", noted_by=artist)
    for loaded in (judged, cracked):
        answer = signed_in(artist).post(at("piece_remove", loaded.pk), follow=True)
        assert "stays in the record" in str(next(iter(answer.context["messages"])))
    assert firing.load.count() == 2


def test_same_form_sent_twice_adds_one_piece(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    told = piece(maker=artist.pk, form_key=str(uuid4()))
    for _ in range(2):
        assert signed_in(artist).post(at("piece_add", firing.pk), told).status_code == 302
    assert Piece.objects.count() == 1


def test_load_page_and_history_keep_their_query_count(artist: Person, signed_in: SignedIn) -> None:
    firing = make_firing(artist)
    loaded = load_piece(firing, glass=make_glass(), place=make_place(firing.kiln))
    browser = signed_in(artist)

    def queries(address: str) -> int:
        browser.get(address)
        with CaptureQueriesContext(connection) as seen:
            assert browser.get(address).status_code == 200
        return len(seen)

    pages = [at("load_edit", firing.pk), at("piece_detail", loaded.piece_id)]
    before = [queries(page) for page in pages]
    for number in range(4):
        extra = load_piece(firing, title=f"Piece {number}", glass=make_glass(colour="blue"))
        extra.other_glasses.set([make_glass(colour="red"), make_glass(colour="white")])
        schedule = make_schedule(artist, name=f"Slump {number}")
        again = make_firing(artist, revision=make_revision(schedule), state="opened")
        more = load_piece(again, piece=loaded.piece, glass=make_glass(), verdict=0)
        more.other_glasses.set([make_glass(colour="red")])
        Fault.objects.create(loaded_piece=more, kind="stuck", noted_by=artist)
    assert [queries(page) for page in pages] == before


@pytest.mark.parametrize("view", ["load_edit", "piece_add", "piece_edit", "piece_detail"])
def test_outsider_missing_record_and_wrong_method(
    view: str, artist: Person, signed_in: SignedIn, outsider: Client
) -> None:
    loaded = load_piece(make_firing(artist))
    numbers: dict[str, Firing | LoadedPiece | Piece] = {
        "piece_edit": loaded,
        "piece_detail": loaded.piece,
    }
    pk = numbers.get(view, loaded.firing).pk
    assert outsider.get(at(view, pk)).url.startswith(reverse("studio:sign_in"))
    assert signed_in(artist).get(at(view, 999_999)).status_code == 404
    assert signed_in(artist).put(at(view, pk)).status_code == 405
    assert signed_in(artist).get(at("piece_remove", loaded.pk)).status_code == 405


def test_schedule_is_checked_for_the_piece_that_asks_for_the_gentlest_anneal(
    artist: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(artist)
    load_piece(firing, title="Tide blank")
    address = reverse("firings:load_edit", args=[firing.pk])
    browser = signed_in(artist)
    assert "Nothing speaks against it." in browser.get(address).content.decode()

    load_piece(firing, title="Breakwater", thickest_mm=19.0, thinnest_mm=19.0)
    check = browser.get(address).context["load_check"]
    assert (check.title, check.thickness_mm) == ("Breakwater", pytest.approx(19.0))
    codes = [each.line.key for each in check.remarks.heard]
    assert "soak_short-4" in codes
    text = browser.get(reverse("firings:firing_detail", args=[firing.pk])).content.decode()
    assert "Checked for “Breakwater”" in text
    assert "annealed as 19 mm usually gets" in text


def test_what_is_silenced_on_the_schedule_is_silent_until_a_load_makes_it_worse(
    artist: Person,
) -> None:
    firing = make_firing(artist)
    load_piece(firing, thickest_mm=12.0, thinnest_mm=12.0)
    check = load_check(firing_for_page(firing.pk), "C")
    [soak] = [each for each in check.remarks.heard if each.line.key == "soak_short-4"]
    remark_silence(
        schedule=firing.revision.schedule, remark=soak.remark, reason="Tiles.", by=artist
    )

    def silent() -> list[str]:
        found = load_check(firing_for_page(firing.pk), "C")
        return [each.line.key for each in found.remarks.silenced]

    assert silent() == ["soak_short-4"]
    load_piece(firing, thickest_mm=19.0, thinnest_mm=19.0)
    assert silent() == []


def test_opened_firing_is_not_checked_any_more(artist: Person) -> None:
    firing = make_firing(artist, state="opened")
    assert not load_check(firing_for_page(firing.pk), "C").is_checked


@pytest.mark.parametrize(("who", "is_taken"), [("keeper", True), ("artist", False)])
def test_families_are_mixed_to_test_them_by_a_keeper_alone(
    request: pytest.FixtureRequest, signed_in: SignedIn, who: str, is_taken: bool
) -> None:
    person = request.getfixturevalue(who)
    firing = make_firing(person)
    own, other = make_glass(), make_glass(family=make_family("hard 96"), colour="plum")
    given = {
        "title": "Fit tile",
        "maker": person.pk,
        "glass": own.pk,
        "other_glasses": [other.pk],
        "layers": 2,
        "is_fit_test": "on",
    }

    page = signed_in(person).post(reverse("firings:piece_add", args=[firing.pk]), given)

    assert firing.load.exists() is is_taken
    if not is_taken:
        assert "never mixes families" in page.content.decode()
