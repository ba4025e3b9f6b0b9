"""Short codes: set by their owner, read by nobody, and guessed only so often."""

from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.contrib.auth.hashers import check_password, identify_hasher
from django.core import mail
from django.core.exceptions import ValidationError
from django.test import Client
from django.utils import timezone

from studio.actions.short_codes import A_DEVICE, MOST_IN_A_ROW, WaitError, who_saves
from studio.models import Person, PersonAtDevice, SharedDevice, ShortCode
from tests.at_once import at_once
from tests.devices import CODES, as_saver, device_browser, make_device, with_code
from tests.factories import PASSWORD, make_firing, make_person

pytestmark = pytest.mark.django_db


@pytest.fixture
def device(keeper: Person) -> SharedDevice:
    return make_device(keeper)[0]


def tried(device: SharedDevice, person: Person, code: str = "0019") -> ValidationError | Person:
    try:
        return who_saves(device=device, number=str(person.pk), code=code)
    except ValidationError as error:
        return error


def setting(**changed: str) -> dict[str, str]:
    return {"password": PASSWORD, "code": "5839", "again": "5839"} | changed


def test_owner_sets_it_and_nobody_can_read_it(
    artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    answer = signed_in(artist).post("/account/short-code/", setting(), follow=True)

    assert "Your short code is set." in answer.text
    kept = ShortCode.objects.get(person=artist)
    assert "5839" not in kept.code_hash
    assert "5839" not in answer.text


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"password": "not-the-phrase"}, "That is not your password."),
        ({"again": "5838"}, "The two codes differ."),
        ({"code": "1234", "again": "1234"}, "These digits count up or down"),
        ({"code": "0000", "again": "0000"}, "one digit over and over"),
        ({"code": "12", "again": "12"}, "A short code has 4 to 8 digits."),
        ({"code": "12x4", "again": "12x4"}, "made of digits alone"),
    ],
)
def test_refused_with_its_reason_and_never_sent_back(
    changed: dict[str, str], said: str, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    answer = signed_in(artist).post("/account/short-code/", setting(**changed))

    assert said in answer.text
    assert f'value="{setting(**changed)["code"]}"' not in answer.text
    assert not ShortCode.objects.exists()


def test_keeper_takes_it_away_and_others_cannot(
    artist: Person, keeper: Person, student: Person, signed_in: Callable[[Person], Client]
) -> None:
    with_code(artist)
    address = f"/people/{artist.pk}/short-code/take-away/"
    assert signed_in(student).post(address).status_code == 403
    assert ShortCode.objects.exists()

    page = signed_in(keeper).get(f"/people/{artist.pk}/")
    assert address in page.text
    answer = signed_in(keeper).post(address, follow=True)

    assert "Inka has no short code any more." in answer.text
    assert not ShortCode.objects.exists()
    trail = signed_in(keeper).get(f"/trail/person/{artist.pk}/").text
    assert "Short code removed" in trail
    assert CODES["inka"] not in trail


def test_a_closed_account_loses_it(
    artist: Person, keeper: Person, device: SharedDevice, signed_in: Callable[[Person], Client]
) -> None:
    with_code(artist)
    signed_in(keeper).post(f"/people/{artist.pk}/deactivate/")
    assert not ShortCode.objects.exists()
    assert isinstance(tried(device, artist, CODES["inka"]), ValidationError)


def test_after_five_wrong_ones_none_is_looked_at_for_a_quarter_of_an_hour(
    device: SharedDevice, artist: Person, student: Person
) -> None:
    with_code(artist, student)
    noon = timezone.localtime().replace(hour=12, minute=0, second=0, microsecond=0)
    with time_machine.travel(noon, tick=False):
        told = [tried(device, artist) for _ in range(5)]
        assert [isinstance(each, WaitError) for each in told] == [False] * 4 + [True]
        assert "until 12:15" in str(told[4])
        assert isinstance(tried(device, artist, CODES["inka"]), WaitError)
        assert tried(device, student, CODES["ravi"]) == student
    with time_machine.travel(noon + timedelta(minutes=15), tick=False):
        assert tried(device, artist, CODES["inka"]) == artist


def test_a_right_one_takes_back_what_was_wrong_in_that_name_alone(
    device: SharedDevice, artist: Person
) -> None:
    with_code(artist)
    for _ in range(4):
        tried(device, artist)
    assert tried(device, artist, CODES["inka"]) == artist
    device.refresh_from_db()
    assert (device.wrong_codes, PersonAtDevice.objects.get().wrong_codes) == (4, 0)
    assert ShortCode.objects.get().wrong_in_a_row == 0


def test_many_names_are_bounded_by_the_device(
    device: SharedDevice, artist: Person, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    with_code(artist)
    others = [make_person(f"member{number}") for number in range(A_DEVICE.most)]
    told = [tried(device, other) for other in others]
    assert [isinstance(each, WaitError) for each in told] == [False] * 19 + [True]
    assert "Too many wrong codes on this device" in str(tried(device, artist, CODES["inka"]))
    assert "it takes none until" in signed_in(keeper).get("/devices/").text


@pytest.mark.parametrize("number", ["0", "999999", "", "x", "9" * 19, "²"])
def test_a_name_that_is_nobodys_is_told_the_same(device: SharedDevice, number: str) -> None:
    with pytest.raises(ValidationError, match="That is not the code"):
        who_saves(device=device, number=number, code="5839")
    device.refresh_from_db()
    assert device.wrong_codes == 1


def test_its_owner_is_told_on_the_front_page_and_by_mail(
    device: SharedDevice,
    artist: Person,
    signed_in: Callable[[Person], Client],
    django_capture_on_commit_callbacks: Callable[..., object],
) -> None:
    artist.email = "inka@studio.example"
    artist.save()
    with_code(artist)
    with django_capture_on_commit_callbacks(execute=True):
        for _ in range(6):
            tried(device, artist)
    assert [each.to for each in mail.outbox] == [["inka@studio.example"]]
    assert "“mill tablet”" in mail.outbox[0].body
    browser = signed_in(artist)
    assert "Wrong codes in your name" in browser.get("/").text
    page = browser.post("/account/short-code/known/", follow=True)
    assert "Wrong codes in your name" not in page.text


def test_it_is_void_after_so_many_in_a_row_however_long_one_waits(
    device: SharedDevice, keeper: Person, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    with_code(artist)
    browser = device_browser(make_device(keeper, name="bench computer")[1])
    guess = as_saver(artist) | {"device_code": "0019"}
    start = timezone.now()
    for hour in range(MOST_IN_A_ROW // 5):
        assert ShortCode.objects.exists()
        with time_machine.travel(start + timedelta(hours=hour), tick=False):
            for _ in range(5):
                if hour % 2:
                    tried(device, artist)
                else:
                    browser.post("/device/", guess)
    assert not ShortCode.objects.exists()
    assert isinstance(tried(device, artist, CODES["inka"]), ValidationError)
    assert "you need a new one in any case" in signed_in(artist).get("/").text


def test_a_copied_database_alone_does_not_tell_it(
    artist: Person, device: SharedDevice, settings: object
) -> None:
    with_code(artist)
    settings.SECRET_KEY = "another"  # type: ignore[attr-defined]
    assert isinstance(tried(device, artist, CODES["inka"]), ValidationError)


def test_the_device_says_so_and_keeps_what_was_typed(keeper: Person, artist: Person) -> None:
    with_code(artist)
    browser = device_browser(make_device(keeper)[1])
    address = f"/firings/{make_firing(artist, state='firing').pk}/now/"
    sent = as_saver(artist, temperature_c="612", unit="C") | {"device_code": "0019"}
    answers = [browser.post(address, sent) for _ in range(5)]
    assert [answer.status_code for answer in answers] == [200] * 4 + [429]
    assert "That is not the code." in answers[0].text
    assert "5 wrong codes for Inka" in answers[4].text
    for answer in answers:
        assert 'name="temperature_c" value="612"' in answer.text
        assert "0019" not in answer.text


@pytest.mark.django_db(transaction=True)
def test_many_at_once_are_no_more_than_the_bound(keeper: Person, artist: Person) -> None:
    device = make_device(keeper)[0]
    with_code(artist)
    told = at_once(lambda _: tried(device, artist), range(9))
    looked_at = [each for each in told if "That is not the code" in str(each)]
    assert len(looked_at) <= 4
    assert sum(isinstance(each, WaitError) for each in told) >= 5
    assert PersonAtDevice.objects.get().wrong_codes == 5
    assert ShortCode.objects.get().wrong_in_a_row == 5
    device.refresh_from_db()
    assert device.wrong_codes == 5


def test_what_is_kept_is_a_hash_of_django_of_more_than_the_digits(artist: Person) -> None:
    with_code(artist)
    kept = ShortCode.objects.get().code_hash
    assert identify_hasher(kept).algorithm == "md5"  # the tests' own, quick hasher
    assert not check_password("5839", kept)
