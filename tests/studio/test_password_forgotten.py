import re
from collections.abc import Callable
from datetime import timedelta

import pytest
import time_machine
from django.core.mail import EmailMessage
from django.test import Client
from django.utils import timezone

from studio.models import Person
from tests.factories import PASSWORD, make_person

pytestmark = pytest.mark.django_db
NEW = "another-long-phrase"


def set_password(browser: Client, link: str, phrase: str = NEW) -> str:
    """Follow a reset link and send the form; the text of the page that answers."""
    path = re.sub(r"^https?://[^/]+", "", link)
    form = browser.get(path, follow=True)
    if "no longer works" in form.text:
        return form.text
    where = form.redirect_chain[-1][0]
    asked = {"new_password1": phrase, "new_password2": phrase}
    return browser.post(where, asked, follow=True).text


def reset_link(browser: Client, person: Person) -> str:
    page = browser.post(f"/people/{person.pk}/reset-link/").text
    found = re.search(r'value="(http[^"]+/password/[^"]+)"', page)
    assert found
    return found[1]


def test_link_comes_by_mail_and_sets_the_password(
    outsider: Client, mailoutbox: list[EmailMessage], settings: pytest.FixtureRequest
) -> None:
    settings.MAIL_WORKS = True
    make_person("inka", email="inka@millrace.example")

    sent = outsider.post("/password/forgotten/", {"email": "inka@millrace.example"})

    assert sent.headers["Location"] == "/password/sent/"
    assert "If that address" in outsider.get("/password/sent/").text
    link = re.search(r"http\S+", mailoutbox[0].body)
    assert link
    assert "Your new password is kept" in set_password(outsider, link[0])
    assert Person.objects.get().check_password(NEW)


def test_unknown_address_is_answered_like_a_known_one(
    artist: Person,
    outsider: Client,
    mailoutbox: list[EmailMessage],
    settings: pytest.FixtureRequest,
) -> None:
    settings.MAIL_WORKS = True

    sent = outsider.post("/password/forgotten/", {"email": "nobody@millrace.example"})

    assert sent.headers["Location"] == "/password/sent/"
    assert mailoutbox == []


def test_keeper_makes_a_link_that_works_once(
    keeper: Person,
    artist: Person,
    outsider: Client,
    signed_in: Callable[[Person], Client],
) -> None:
    link = reset_link(signed_in(keeper), artist)

    assert "Your new password is kept" in set_password(outsider, link)
    assert "This link no longer works" in set_password(Client(), link, "a-third-long-phrase")
    artist.refresh_from_db()
    assert artist.check_password(NEW)


def test_reset_link_expires_after_a_day(
    keeper: Person,
    artist: Person,
    outsider: Client,
    signed_in: Callable[[Person], Client],
) -> None:
    link = reset_link(signed_in(keeper), artist)

    with time_machine.travel(timezone.now() + timedelta(hours=25)):
        assert "This link no longer works" in set_password(outsider, link)
    artist.refresh_from_db()
    assert artist.check_password(PASSWORD)


@pytest.mark.parametrize("role", ["artist", "student", "instructor"])
def test_only_the_keeper_makes_reset_links(
    role: str, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    person = make_person("tove", role=role)

    assert signed_in(person).post(f"/people/{keeper.pk}/reset-link/").status_code == 403
    assert signed_in(person).post(f"/people/{person.pk}/reset-link/").status_code == 403


def test_two_new_passwords_that_differ_are_refused(
    keeper: Person, artist: Person, outsider: Client, signed_in: Callable[[Person], Client]
) -> None:
    link = reset_link(signed_in(keeper), artist)
    path = re.sub(r"^https?://[^/]+", "", link)
    where = outsider.get(path, follow=True).redirect_chain[-1][0]

    answer = outsider.post(where, {"new_password1": NEW, "new_password2": NEW + "x"})

    assert "didn’t match" in answer.text
    artist.refresh_from_db()
    assert artist.check_password(PASSWORD)
