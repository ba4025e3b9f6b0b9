"""Each form on each page of a device, sent as it stands: taken or refused in words."""

from html.parser import HTMLParser

import pytest
from django.db import transaction
from django.urls import resolve

from studio.at_device import is_open
from studio.models import Person
from tests.browser.pages import fill_studio
from tests.devices import as_saver, device_browser, make_device, with_code
from tests.studio.test_device_privacy import shown_at_device

pytestmark = pytest.mark.django_db


class Forms(HTMLParser):
    """The forms of a page that are sent by POST: where to, and with what."""

    def __init__(self, address: str, text: str) -> None:
        super().__init__()
        self.address = address
        self.found: list[tuple[str, dict[str, list[str]]]] = []
        self._open: dict[str, list[str]] | None = None
        self._select = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._open = None
            if has.get("method") == "post":
                self._open = {}
                self.found.append((has.get("action") or self.address, self._open))
        if self._open is None:
            return
        if tag == "select":
            self._select = has.get("name", "")
        chosen = tag == "option" and "selected" in has
        ticked = has.get("type") not in ("radio", "checkbox", "file") or "checked" in has
        if chosen:
            self._open.setdefault(self._select, []).append(has.get("value", ""))
        elif tag in ("input", "button") and ticked and has.get("name"):
            self._open.setdefault(has["name"], []).append(has.get("value", ""))


def test_no_form_of_a_device_fails_whoever_sends_it(
    keeper: Person, artist: Person, student: Person
) -> None:
    pages = fill_studio(keeper, artist)
    with_code(keeper, student)
    tablet = device_browser(make_device(keeper, name="bench computer")[1])
    sent = set()
    for address in shown_at_device(pages):
        for action, fields in Forms(address, tablet.get(address).text).found:
            name = resolve(action.partition("?")[0]).view_name
            assert is_open(name, "POST"), f"{name}, on {address}"
            sent.add(name)
            for person in (keeper, student):
                with transaction.atomic():
                    answer = tablet.post(action, fields | as_saver(person))
                    transaction.set_rollback(True)
                assert answer.status_code in (200, 302, 403), f"{name}: {answer.status_code}"
                if answer.status_code != 302:
                    assert "nobody is signed in" in answer.text
    assert len(sent) > 25
