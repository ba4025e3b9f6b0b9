"""One Chromium for all browser tests of a run; a fresh, signed-in page for each."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, ConsoleMessage, Page, sync_playwright

from studio.models import Person

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(item.fspath).parent == Path(__file__).parent:
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.xdist_group("browser"))


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not Path(CHROMIUM).exists():
        if os.environ.get("CI"):
            pytest.fail("Chromium is missing; in CI the browser tests must run.")
        pytest.skip("Chromium is not installed, so the browser tests are skipped.")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield chromium
        chromium.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


# What a console says where the test itself asks for what is refused, cuts the network, or a note is
# refused.
REFUSED = ("status of 403", "status of 429")
OFFLINE = ("net::ERR_INTERNET_DISCONNECTED", "htmx:afterRequest", "htmx:sendError", "status of 422")


class Complaints(list[str]):
    """What a page's console said that it should not have: errors, policy violations."""

    def hear(self, message: ConsoleMessage) -> None:
        asked_for = "no-such-page" in message.location.get("url", "")
        if message.type == "error" and not asked_for:
            self.append(f"{message.text} {message.location}")

    def hear_offline(self, message: ConsoleMessage) -> None:
        if not any(cause in message.text for cause in OFFLINE):
            self.hear(message)

    def hear_refused(self, message: ConsoleMessage) -> None:
        if not any(cause in message.text for cause in REFUSED):
            self.hear(message)


@pytest.fixture
def open_page(browser: Browser, live_server: Any) -> Iterator[Callable[..., Page]]:
    """`open_page(person, viewport=PHONE, dark=True)`: a page, signed in unless person is None.

    When the test ends, any error on the page's console fails it.
    """
    contexts = []
    complaints = Complaints()

    def make(
        person: Person | None = None,
        *,
        viewport: dict[str, int] = DESK,
        dark: bool = False,
        scripts: bool = True,
        goes_offline: bool = False,
        is_refused: bool = False,
    ) -> Page:
        context = browser.new_context(
            base_url=live_server.url,
            viewport=viewport,  # type: ignore[arg-type]
            color_scheme="dark" if dark else "light",
            java_script_enabled=scripts,
        )
        contexts.append(context)
        if person is not None:
            client = Client()
            client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
            cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
            context.add_cookies(
                [{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": live_server.url}]
            )
        page = context.new_page()
        page.set_default_timeout(10_000)
        heard = complaints.hear_offline if goes_offline else complaints.hear
        page.on("console", complaints.hear_refused if is_refused else heard)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        return page

    yield make
    for context in contexts:
        context.close()
    assert complaints == []
