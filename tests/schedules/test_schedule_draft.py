import uuid
from collections.abc import Callable
from decimal import Decimal
from itertools import product
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from firings.demo.equipment import families_make, kilns_make
from schedules.core_inputs import written_segments
from schedules.models import Process, Schedule
from studio.models import GlassFamily, Kiln, Person
from tests.factories import (
    make_family,
    make_glass,
    make_kiln,
    make_revision,
    make_schedule,
)

SignIn = Callable[[Person], Client]
URL = reverse("schedules:schedule_draft")


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln()


@pytest.fixture
def family(db: None) -> GlassFamily:
    return make_family()


def givens(kiln: Kiln, family: GlassFamily | None, **overrides: Any) -> dict[str, Any]:
    return {
        "process": "full_fuse",
        "kiln": kiln.pk,
        "family": "" if family is None else family.pk,
        "thickest_mm": "6",
        "thinnest_mm": "",
        "layers": "2",
        "width_mm": "200",
        "length_mm": "200",
        "peak": "",
    } | overrides


def drafted(browser: Client, sent: dict[str, Any], **headers: str) -> Any:
    return browser.post(URL, sent | {"do": "draft"}, headers=headers)


def kept(browser: Client, sent: dict[str, Any], address: str = URL, **more: Any) -> Any:
    """The draft as it is seen, and then saved."""
    seen = browser.post(address, sent | {"do": "draft"}).context["draft"]
    sent = sent | {"save": "schedule", "name": "", "shown": seen.fingerprint} | more
    return seen, browser.post(address, sent)


def test_page_opens_with_a_draft_of_what_is_usual(
    kiln: Kiln, family: GlassFamily, student: Person, signed_in: SignIn
) -> None:
    response = signed_in(student).get(URL)
    assert response.status_code == 200
    text = response.content.decode()
    assert "150 °C/h" in text
    assert "804 °C" in text
    assert "the cautious first heating for 6 mm" in text
    assert "A place to start, not a proven schedule" in text
    assert response.context["draft"].planned.total_s > 0


def test_form_starts_with_the_kiln_last_written_for_and_the_commonest_glass(
    artist: Person, signed_in: SignIn
) -> None:
    make_kiln("Avocet")
    last, common = make_kiln("Wren"), make_family("common")
    make_family("another")
    make_revision(make_schedule(artist, family=common), written_for=last)
    form = signed_in(artist).get(URL).context["form"]
    assert (form["kiln"].value(), form["family"].value()) == (last.pk, common.pk)


def test_studio_without_kiln_or_glass_is_told_what_is_missing(
    artist: Person, signed_in: SignIn
) -> None:
    text = signed_in(artist).get(URL).content.decode()
    assert "It is drafted as soon as the kiln, the glass and the thickness are known." in text


@pytest.mark.parametrize("process", Process.values)
def test_each_process_of_the_demo_gives_a_draft_or_words(
    process: str, keeper: Person, signed_in: SignIn
) -> None:
    from django.utils import timezone

    browser = signed_in(keeper)
    kilns = kilns_make(timezone.localdate(), keeper).values()
    families = families_make().values()
    peak = "899" if process == Process.METAL_CLAY else ""
    for kiln, family in product(kilns, families):
        response = drafted(browser, givens(kiln, family, process=process, peak=peak))
        assert response.status_code == 200
        draft, refusal = response.context["draft"], response.context["refusal"]
        assert draft or refusal, (kiln, family)
        if draft:
            assert all(remark.severity == "note" for remark in draft.planned.found)
            assert len(draft.written) <= kiln.controller_segments
            assert all(each.target % kiln.controller_step == 0 for each in draft.written)


def test_numbers_are_those_of_the_controller_with_the_readers_beside(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln("Wren", controller_unit="F", offset_c=9.0)
    response = drafted(signed_in(artist), givens(kiln, family))
    text = response.content.decode()
    assert [each.target for each in response.context["draft"].written][:2] == [990, 1220]
    assert "270 °F/h to 990 °F" in text
    assert "150 °C/h to 532.2 °C" in text
    assert "its display is keyed 16 °F below what the piece is to reach" in text


def test_piece_size_and_the_makers_soak_count(
    kiln: Kiln, family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    browser = signed_in(artist)
    usual = drafted(browser, givens(kiln, family)).context["draft"]
    wide = drafted(browser, givens(kiln, family, width_mm="460")).context["draft"]
    assert wide.written[0].rate < usual.written[0].rate
    family.anneal_soak_c = 516.0
    family.save()
    changed = drafted(browser, givens(kiln, family)).context["draft"]
    assert 516 in [each.target for each in changed.written]


def test_glass_with_points_of_its_own_is_drafted_by_them(
    kiln: Kiln, family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    hard = make_glass(
        family=family,
        colour="hard",
        strain_point_c=500.0,
        annealing_point_c=539.0,
        softening_point_c=700.0,
    )
    browser = signed_in(artist)
    draft = drafted(browser, givens(kiln, family, kind=hard.pk)).context["draft"]
    assert max(each.target for each in draft.written) == 820  # 0.7 × 23 °C hotter
    other = drafted(browser, givens(kiln, make_family("other"), kind=hard.pk)).context["form"]
    assert other.errors["kind"] == ["This glass is of the family soft 90."]


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"thickest_mm": ""}, "thickest_mm", "This field is required."),
        ({"thickest_mm": "thick"}, "thickest_mm", "Enter a number of millimetres"),
        ({"thickest_mm": "101"}, "thickest_mm", "Between 0.5 and 100 mm"),
        ({"thickest_mm": "0,1"}, "thickest_mm", "Between 0.5 and 100 mm"),
        ({"thinnest_mm": "7"}, "thinnest_mm", "can’t be thicker"),
        ({"layers": "0"}, "layers", "Between 1 and 40"),
        ({"width_mm": "9000"}, "width_mm", "Between 0.1 and 3000 mm"),
        ({"family": ""}, "family", "Choose the family of the glass."),
        ({"kiln": "999"}, "kiln", "Select a valid choice"),
        ({"process": "melt"}, "process", "Select a valid choice"),
        ({"peak": "hot"}, "peak", "Enter a number, such as 804."),
        ({"peak": "1400"}, "peak", "Between 200 °C and 1300 °C"),
        ({"process": "metal_clay"}, "peak", "the peak on its maker’s sheet"),
        ({"process": "anneal_only", "peak": "510"}, "peak", "An anneal has no peak"),
    ],
)
def test_what_is_amiss_stands_at_its_field_and_all_is_kept(
    kiln: Kiln,
    family: GlassFamily,
    artist: Person,
    signed_in: SignIn,
    change: dict[str, str],
    field: str,
    message: str,
) -> None:
    sent = givens(kiln, family, length_mm="123") | change
    browser = signed_in(artist)
    response = browser.post(URL, sent | {"save": "schedule", "name": "Tide", "shown": ""})
    assert message in response.context["form"].errors[field][0].replace("\N{NO-BREAK SPACE}", " ")
    text = response.content.decode()
    assert f'id="id_{field}_error"' in text
    assert 'value="123"' in text
    assert not Schedule.objects.exists()
    live = drafted(browser, sent, **{"HX-Request": "true"}).content.decode()
    assert message in live.replace("&#x27;", "'")


def test_saved_schedule_is_what_was_shown(
    family: GlassFamily, student: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln("Wren", controller_unit="F", controller_step=Decimal("0.1"))
    sent = givens(kiln, family, process="tack_fuse", thickest_mm="9,5", thinnest_mm="6")
    seen, response = kept(signed_in(student), sent)
    schedule = Schedule.objects.get()
    assert response.headers["Location"] == reverse("schedules:schedule_detail", args=[schedule.pk])
    revision = schedule.revisions.get()
    assert written_segments(revision) == seen.written
    assert (revision.unit, revision.written_for, revision.made_by) == ("F", kiln, student)
    assert (schedule.process, schedule.family, schedule.owner) == ("tack_fuse", family, student)
    assert (schedule.thinnest_mm, schedule.thickest_mm) == (6.0, 9.5)
    assert schedule.name == "Tack fuse 6–9.5 mm, soft 90"
    assert revision.reason == (
        "Drafted for Wren: tack fuse, soft 90, 6–9.5 mm, 2 layers, 200 × 200 mm. "
        "A place to start, not proven yet."
    )


def test_draft_that_one_did_not_see_is_not_kept(
    kiln: Kiln, family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    browser = signed_in(artist)
    seen, _ = kept(browser, givens(kiln, family), save="nothing yet", shown="")
    changed = givens(kiln, family, thickest_mm="12")
    sent = changed | {"save": "schedule", "name": "Ebb", "shown": seen.fingerprint}
    response = browser.post(URL, sent)
    assert not Schedule.objects.exists()
    text = response.content.decode()
    assert "no longer the one that you saw" in text
    assert 'value="Ebb"' in text
    browser.post(URL, sent | {"shown": response.context["draft"].fingerprint})
    assert Schedule.objects.get().name == "Ebb"


def test_form_sent_twice_makes_one_schedule(
    kiln: Kiln, family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    browser, key = signed_in(artist), str(uuid.uuid4())
    _, first = kept(browser, givens(kiln, family), form_key=key)
    _, second = kept(browser, givens(kiln, family), form_key=key)
    assert Schedule.objects.count() == 1
    assert first.headers["Location"] == second.headers["Location"]


def test_live_answer_is_the_draft_alone(
    kiln: Kiln, family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    response = drafted(signed_in(artist), givens(kiln, family), **{"HX-Request": "true"})
    text = response.content.decode()
    assert text.strip().startswith('<div id="draft"')
    assert "<html" not in text
    assert not Schedule.objects.exists()


def test_metal_clay_takes_its_makers_peak_and_no_glass(
    kiln: Kiln, family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    artist.unit = "F"
    artist.save()
    sent = givens(kiln, None, process="metal_clay", peak="1650")
    browser = signed_in(artist)
    assert "of the glass is on record" not in drafted(browser, sent).content.decode()
    _seen, response = kept(browser, sent)
    assert response.status_code == 302
    schedule = Schedule.objects.get()
    [segment] = schedule.revisions.get().segments.all()
    assert (schedule.family, segment.target, segment.hold_minutes) == (None, 899, 120)


@pytest.mark.parametrize(
    ("kiln_facts", "change", "words"),
    [
        ({"controller_segments": 3}, {}, "takes 3 segments, and 4 are needed"),
        (
            {"controller_step": Decimal(2)},
            {"process": "cast", "thickest_mm": "100", "layers": "1"},
            "0.94 °C/h at the most, and Ember’s controller takes steps of 2 °C/h",
        ),
        ({"max_temperature_c": 750.0}, {}, "The kiln’s highest temperature is 750 °C."),
        ({}, {"width_mm": "900"}, "The piece is wider than the chamber."),
        ({}, {"peak": "500"}, "it softens only above 540 °C"),
    ],
)
def test_refusal_says_why_and_keeps_nothing(
    family: GlassFamily,
    artist: Person,
    signed_in: SignIn,
    kiln_facts: dict[str, Any],
    change: dict[str, str],
    words: str,
) -> None:
    kiln, browser = make_kiln("Ember", **kiln_facts), signed_in(artist)
    sent = givens(kiln, family, **change)
    text = " ".join(drafted(browser, sent).content.decode().split())
    assert words in text
    assert "Write it as a schedule" not in text
    browser.post(URL, sent | {"save": "schedule", "shown": ""})
    assert not Schedule.objects.exists()


def test_thickest_that_goes_is_a_draft(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln("Ember", controller_step=Decimal(2))
    sent = givens(kiln, family, process="cast", thickest_mm="100", layers="1")
    goes = drafted(signed_in(artist), sent).context["refusal"].thickest_that_goes_mm
    assert 65 < goes < 75
    for thickness, is_drafted in ((goes, True), (goes + 1, False)):
        response = drafted(signed_in(artist), sent | {"thickest_mm": str(thickness)})
        assert (response.context["draft"] is not None) is is_drafted


def test_schedule_is_drafted_anew_as_its_next_revision(
    kiln: Kiln, artist: Person, signed_in: SignIn
) -> None:
    schedule = make_schedule(artist, process="slump", thinnest_mm=8.0, thickest_mm=8.0)
    make_revision(schedule)
    browser, address = signed_in(artist), f"{URL}?schedule={schedule.pk}&kiln={kiln.pk}"
    form = browser.get(address).context["form"]
    assert (form["process"].value(), form["thickest_mm"].value()) == ("slump", "8")
    sent = givens(kiln, schedule.family, process="slump", thickest_mm="8", layers="1")
    seen, _ = kept(browser, sent, address, save="revision", newest_seen="1")
    newest = schedule.revisions.first()
    assert newest is not None
    assert (newest.number, written_segments(newest)) == (2, seen.written)
    assert Schedule.objects.count() == 1


def test_revision_for_another_thickness_is_refused(
    kiln: Kiln, artist: Person, signed_in: SignIn
) -> None:
    schedule = make_schedule(artist)
    make_revision(schedule)
    sent = givens(kiln, schedule.family, thickest_mm="12")
    address = f"{URL}?schedule={schedule.pk}"
    _, response = kept(signed_in(artist), sent, address, save="revision", newest_seen="1")
    assert "write it as a schedule of its own" in response.content.decode()
    assert schedule.revisions.count() == 1


def test_revision_made_meanwhile_is_told(kiln: Kiln, artist: Person, signed_in: SignIn) -> None:
    schedule = make_schedule(artist)
    make_revision(schedule)
    make_revision(schedule, reason="Hotter.")
    address = f"{URL}?schedule={schedule.pk}"
    sent = givens(kiln, schedule.family)
    _, response = kept(signed_in(artist), sent, address, save="revision", newest_seen="1")
    assert "has made revision 2 meanwhile" in response.content.decode()
    assert schedule.revisions.count() == 2


def test_anothers_schedule_is_not_revised_but_may_be_begun_from(
    kiln: Kiln, artist: Person, student: Person, signed_in: SignIn
) -> None:
    theirs = make_schedule(artist)
    make_revision(theirs)
    browser, address = signed_in(student), f"{URL}?schedule={theirs.pk}"
    assert "Make it the next revision" not in browser.get(address).content.decode()
    sent = givens(kiln, theirs.family)
    _, response = kept(browser, sent, address, save="revision", newest_seen="1")
    assert response.status_code == 403
    assert theirs.revisions.count() == 1
    kept(browser, sent, address)
    assert Schedule.objects.filter(owner=student).count() == 1


def test_address_that_asks_for_nonsense_is_a_plain_page(
    kiln: Kiln, family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    browser = signed_in(artist)
    assert browser.get(f"{URL}?thickest_mm=thick&kiln=x&layers=").status_code == 200
    assert browser.get(f"{URL}?schedule=999").status_code == 404


def test_queries_do_not_grow_with_the_studio(
    kiln: Kiln,
    family: GlassFamily,
    artist: Person,
    signed_in: SignIn,
    django_assert_max_num_queries: Any,
) -> None:
    browser = signed_in(artist)
    for number in range(12):
        make_kiln(f"Kiln {number}")
        make_revision(make_schedule(artist, family=make_family(f"family {number}")))
    browser.get(URL)  # the first visit makes the studio's own row
    with django_assert_max_num_queries(14):
        browser.get(URL)


def test_outsider_is_led_to_sign_in_and_other_methods_are_refused(
    kiln: Kiln, family: GlassFamily, artist: Person, signed_in: SignIn, outsider: Client
) -> None:
    assert outsider.get(URL).status_code == 302
    assert outsider.post(URL, givens(kiln, family)).status_code == 302
    assert signed_in(artist).put(URL).status_code == 405
    assert not Schedule.objects.exists()


def test_draft_is_found_from_list_and_schedule(
    kiln: Kiln, artist: Person, signed_in: SignIn
) -> None:
    schedule = make_schedule(artist)
    make_revision(schedule)
    browser = signed_in(artist)
    for address in (
        reverse("schedules:schedule_list"),
        reverse("schedules:schedule_add"),
        reverse("schedules:schedule_detail", args=[schedule.pk]),
    ):
        assert f'href="{URL}' in browser.get(address).content.decode()
