"""A studio device: nobody is signed in on it, and each save asks who."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from firings.models import Firing, FiringState, Photograph, RecordingFile, SpotReading
from studio.actions.shared_devices import device_take_away
from studio.models import Person, PersonAtDevice, SharedDevice
from tests.devices import as_saver, device_browser, make_device, with_code
from tests.factories import make_firing, make_person
from tests.firings.pictures import picture_file

pytestmark = pytest.mark.django_db


@pytest.fixture
def device(keeper: Person) -> tuple[SharedDevice, Client]:
    made, cookie = make_device(keeper)
    return made, device_browser(cookie)


@pytest.fixture
def tablet(device: tuple[SharedDevice, Client]) -> Client:
    return device[1]


@pytest.fixture
def running(artist: Person) -> Firing:
    return make_firing(artist, state=FiringState.FIRING, title="Tide blank")


def moment() -> str:
    return f"{timezone.localtime():%Y-%m-%dT%H:%M}"


def reading_of(firing: Firing) -> dict[str, object]:
    return {"temperature_c": "612", "unit": "C", "note": "edges soft"}


def test_keeper_makes_this_browser_a_device_and_is_signed_out_of_it(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser = signed_in(keeper)

    answer = browser.post("/devices/set-up/", {"name": "mill tablet", "unit": "C"}, follow=True)

    made = SharedDevice.objects.get()
    assert (made.name, made.set_up_by) == ("mill tablet", keeper)
    assert "nobody is signed in" in answer.text
    assert "This is the studio device “mill tablet” now." in answer.text
    assert not Session.objects.exists()
    cookie = browser.cookies["studio_device"]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert made.digest not in cookie.value
    assert made.digest.encode() not in answer.content


def test_a_save_asks_who_and_carries_what_was_typed(tablet: Client, running: Firing) -> None:
    answer = tablet.post(f"/firings/{running.pk}/now/", reading_of(running))

    assert "Who is this?" in answer.text
    for held in ('name="temperature_c" value="612"', 'name="note" value="edges soft"'):
        assert held in answer.text
    assert not SpotReading.objects.exists()


def test_it_is_saved_as_theirs_and_they_are_forgotten(
    tablet: Client, running: Firing, artist: Person, student: Person
) -> None:
    with_code(artist, student)
    address = f"/firings/{running.pk}/now/"

    answer = tablet.post(address, as_saver(student, **reading_of(running)), follow=True)

    assert SpotReading.objects.get().noted_by == student
    assert "Saved as Ravi." in answer.text
    assert "nobody is signed in" in answer.text
    assert "Who is this?" in tablet.post(address, reading_of(running)).text
    assert settings.SESSION_COOKIE_NAME not in tablet.cookies
    assert not Session.objects.exists()
    assert tablet.get("/signed-in/").json()["person"] is None
    assert tablet.get("/account/").status_code == 403


def test_pages_are_kept_by_no_browser(tablet: Client, running: Firing) -> None:
    for answer in (tablet.get("/"), tablet.post(f"/firings/{running.pk}/now/", {})):
        assert answer["Cache-Control"] == "no-store, private"


def test_one_who_may_not_is_told_and_another_saves_what_was_typed(
    tablet: Client, artist: Person, student: Person
) -> None:
    with_code(artist, student)
    planned = make_firing(artist)
    address = f"/firings/{planned.pk}/call-off/"
    typed = {"reason": "the shelf is cracked", "form_key": str(uuid4())}

    refused = tablet.post(address, as_saver(student, **typed))

    assert refused.status_code == 403
    assert "Ravi may not do that here." in refused.text
    assert 'value="the shelf is cracked"' in refused.text
    planned.refresh_from_db()
    assert planned.state == FiringState.PLANNED

    answer = tablet.post(address, as_saver(artist, **typed), follow=True)

    assert "Saved as Inka." in answer.text
    planned.refresh_from_db()
    assert planned.state == FiringState.CALLED_OFF


def test_what_is_typed_is_read_in_the_unit_that_the_device_shows(
    tablet: Client, running: Firing
) -> None:
    wilf = make_person("wilf", unit="F")
    with_code(wilf)
    page = f"/firings/{running.pk}/readings/add/"
    assert "°C" in tablet.get(page).text

    tablet.post(page, as_saver(wilf, temperature_c="612", at=moment(), form_key=str(uuid4())))

    assert SpotReading.objects.get().temperature_c == 612
    wilf.refresh_from_db()
    assert wilf.unit == "F"


def test_a_refused_form_is_no_save(tablet: Client, running: Firing, artist: Person) -> None:
    with_code(artist)
    answer = tablet.post(
        f"/firings/{running.pk}/now/", as_saver(artist, temperature_c="hot", unit="C")
    )
    assert "Saved as" not in answer.text
    assert "nobody is signed in" in answer.text
    started = tablet.post(f"/firings/{running.pk}/start/", as_saver(artist), follow=True)
    assert "Saved as" not in started.text


def test_a_form_sent_twice_is_taken_once(tablet: Client, running: Firing, artist: Person) -> None:
    with_code(artist)
    sent = as_saver(artist, **reading_of(running), form_key=str(uuid4()))
    for _ in range(2):
        assert tablet.post(f"/firings/{running.pk}/now/", sent).status_code == 302
    assert SpotReading.objects.count() == 1


def test_photographs_go_with_the_code_and_are_asked_for_again_after_a_wrong_one(
    tablet: Client, running: Firing, artist: Person
) -> None:
    with_code(artist)
    address = f"/firings/{running.pk}/photographs/add/"
    form = tablet.get(address).text
    assert 'name="device_code"' in form

    typed = {"moment": "loaded", "caption": "the whole shelf"}
    wrong = as_saver(artist, **typed, photographs=picture_file("shelf.jpg"))
    answer = tablet.post(address, wrong | {"device_code": "0019"})

    assert "shelf.jpg" in answer.text
    assert 'type="file" name="photographs"' in answer.text
    assert 'value="the whole shelf"' in answer.text

    tablet.post(address, as_saver(artist, **typed, photographs=picture_file("shelf.jpg")))

    assert Photograph.objects.get().taken_by == artist


def test_a_form_without_its_token_against_forgery_is_refused(
    keeper: Person, running: Firing, artist: Person
) -> None:
    with_code(artist)
    tablet = device_browser(make_device(keeper)[1], enforce_csrf_checks=True)
    address = f"/firings/{running.pk}/now/"

    refused = tablet.post(address, as_saver(artist, **reading_of(running)))

    assert refused.status_code == 403
    assert not SpotReading.objects.exists()
    assert not PersonAtDevice.objects.exists()  # the code was not even looked at

    page = tablet.get(address).text
    token = page.partition('name="csrfmiddlewaretoken" value="')[2].partition('"')[0]
    sent = as_saver(artist, **reading_of(running), csrfmiddlewaretoken=token)
    assert tablet.post(address, sent).status_code == 302


def test_taken_away_it_says_so_at_the_next_click_and_is_a_browser_as_any_other(
    device: tuple[SharedDevice, Client],
    keeper: Person,
    artist: Person,
    signed_in: Callable[[Person], Client],
) -> None:
    made, tablet = device
    with_code(artist)
    signed_in(keeper).post(f"/devices/{made.pk}/take-away/")

    answer = tablet.post("/firings/1/now/", as_saver(artist, temperature_c="612"), follow=True)

    assert answer.request["PATH_INFO"] == "/sign-in/"
    assert "Mads took “mill tablet” away" in answer.text
    assert not tablet.cookies["studio_device"].value
    assert tablet.get("/logbook/").status_code == 302
    trail = signed_in(keeper).get("/trail/studio/1/").text
    assert "Studio device mill tablet added" in trail
    assert "Taken away by: " in trail


def test_a_polled_part_of_a_page_leads_to_the_page_to_sign_in(
    device: tuple[SharedDevice, Client], keeper: Person
) -> None:
    made, tablet = device
    device_take_away(device=made, by=keeper)
    answer = tablet.get("/kilns/now/", headers={"HX-Request": "true"})
    assert answer["HX-Redirect"] == "/sign-in/"


def test_the_keeper_takes_it_away_on_the_device_itself(
    device: tuple[SharedDevice, Client], keeper: Person, artist: Person
) -> None:
    made, tablet = device
    with_code(keeper, artist)
    assert tablet.post("/device/", as_saver(artist)).status_code == 403
    made.refresh_from_db()
    assert made.taken_away_at is None
    answer = tablet.post("/device/", as_saver(keeper), follow=True)
    assert "Mads took “mill tablet” away" in answer.text


def test_a_session_counts_for_nothing_on_a_device(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    browser = signed_in(keeper)
    browser.cookies["studio_device"] = make_device(keeper)[1]
    assert "nobody is signed in" in browser.get("/").text
    assert browser.get("/studio/").status_code == 403


@pytest.mark.parametrize("change", ["", "x", "1.x:forged", None])
def test_an_altered_token_makes_no_device(
    keeper: Person, outsider: Client, change: str | None
) -> None:
    _, cookie = make_device(keeper)
    outsider.cookies["studio_device"] = cookie[:-1] if change is None else change
    assert outsider.get("/").headers["Location"].startswith("/sign-in/")


def test_a_second_device_of_the_name_is_refused(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    make_device(keeper)
    answer = signed_in(keeper).post("/devices/set-up/", {"name": "mill tablet", "unit": "C"})
    assert "A studio device has that name already." in answer.text
    assert 'value="mill tablet"' in answer.text


def test_those_who_saved_last_stand_first(tablet: Client, running: Firing, keeper: Person) -> None:
    people = [make_person(name) for name in ("wilf", "oona", "ravi")]
    with_code(*people)
    address = f"/firings/{running.pk}/now/"

    def names() -> list[str]:
        form = tablet.post(address, reading_of(running)).context["device_who"]
        return [name for _, name in form.fields["device_who"].choices]

    assert names() == ["Oona", "Ravi", "Wilf"]
    tablet.post(address, as_saver(people[0], **reading_of(running)))
    assert names() == ["Wilf", "Oona", "Ravi"]


def test_asking_who_takes_as_many_queries_however_many_there_are(
    tablet: Client, running: Firing, django_assert_num_queries: Any
) -> None:
    address = f"/firings/{running.pk}/now/"
    with_code(make_person("wilf"))
    tablet.post(address, reading_of(running))
    with CaptureQueriesContext(connection) as first:
        tablet.post(address, reading_of(running))
    with_code(make_person("oona"), make_person("ravi"))
    with django_assert_num_queries(len(first)):
        tablet.post(address, reading_of(running))


def test_what_somebody_writes_down_there_is_theirs(
    tablet: Client, keeper: Person, artist: Person
) -> None:
    """The keeper writes for others elsewhere; here nobody is chosen before they are known."""
    with_code(keeper, artist)
    planned = make_firing(artist)
    address = f"/firings/{planned.pk}/load/add/"
    assert "whoever saves it" in tablet.get(address).text
    piece = {"title": "Weir bowl", "layers": "2", "thickest_mm": "6", "form_key": str(uuid4())}

    tablet.post(address, as_saver(keeper, **piece, maker=""))

    assert planned.load.get().piece.maker == keeper
    other = as_saver(keeper, **piece | {"form_key": str(uuid4())}, maker=artist.pk)
    assert "Select a valid choice" in tablet.post(address, other).text


def test_a_part_of_a_page_that_is_sent_is_answered_by_the_whole_question(
    tablet: Client, running: Firing
) -> None:
    """Or it would stand in a corner of the page."""
    address = f"/firings/{running.pk}/now/"
    answer = tablet.post(address, reading_of(running), headers={"HX-Request": "true"})
    assert (answer["HX-Retarget"], answer["HX-Reswap"]) == ("body", "innerHTML")


def test_the_live_page_says_that_nothing_is_kept_without_a_network(
    tablet: Client, running: Firing
) -> None:
    page = tablet.get(f"/firings/{running.pk}/now/").text
    assert "Without a network nothing is kept on a studio device" in page
    assert 'data-person=""' in page


def test_to_look_how_a_plan_would_go_nobody_need_say_who_they_are(
    tablet: Client, running: Firing
) -> None:
    asked = {
        "kiln": running.kiln_id,
        "revision": running.revision_id,
        "title": "Relief tiles",
        "form_key": str(uuid4()),
    }
    page = tablet.post("/firings/plan/", asked | {"look": "yes"})
    assert "Runs for" in page.text
    assert 'value="Relief tiles"' in page.text
    assert not Firing.objects.filter(title="Relief tiles").exists()
    assert "Who is this?" in tablet.post("/firings/plan/", asked).text


def test_a_loggers_file_is_sent_looked_at_and_taken_by_whoever_says_so(
    tablet: Client, artist: Person, student: Person
) -> None:
    with_code(artist, student)
    started_at = timezone.now() - timedelta(hours=20)
    firing = make_firing(artist, state=FiringState.OPENED, started_at=started_at)
    address = f"/firings/{firing.pk}/recordings/add/"
    assert "hx-post" not in tablet.get(address).text
    csv = "minutes,temperature\n" + "".join(f"{each},{20 + each}\n" for each in range(60))
    file = SimpleUploadedFile("heron.csv", csv.encode(), "text/csv")

    answer = tablet.post(address, as_saver(artist, recordings=file), follow=True)

    kept = RecordingFile.objects.get()
    assert kept.added_by == artist
    assert answer.request["PATH_INFO"] == f"/recordings/{kept.pk}/"
    assert "hx-post" not in answer.text
    assert "Who is this?" in tablet.post(f"/recordings/{kept.pk}/", {"take": "yes"}).text
    assert tablet.post(f"/recordings/{kept.pk}/", as_saver(student)).status_code == 403
