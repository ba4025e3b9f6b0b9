"""Every page, light and dark, on a phone and at a desk: accessible and within its screen."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page
from pytest_django import Settings

from studio.models import Person
from tests.browser.accessibility import violations
from tests.browser.conftest import DESK, PHONE
from tests.browser.pages import fill_studio, url_names


@pytest.mark.parametrize(("viewport", "dark"), [(PHONE, True), (DESK, False)])
def test_every_page(
    keeper: Person,
    artist: Person,
    open_page: Callable[..., Page],
    settings: Settings,
    viewport: dict[str, int],
    dark: bool,
) -> None:
    """The `open_page` fixture adds: no page may complain on its console (policy, scripts)."""
    settings.MAIL_WORKS = True  # the reset by e-mail has pages only then
    pages = fill_studio(keeper, artist)
    signed_in = open_page(keeper, viewport=viewport, dark=dark)
    signed_out = open_page(None, viewport=viewport, dark=dark)
    found = []
    for each in pages:
        page = signed_out if each.signed_out else signed_in
        response = page.goto(each.address)
        assert response is not None
        if response.status != (404 if each.name == "missing" else 200):
            found.append(f"{each.name}: answered {response.status}")
        policy = response.headers.get("content-security-policy", "")
        if "script-src 'self';" not in policy + ";" or "unsafe" in policy:
            found.append(f"{each.name}: policy “{policy}”")
        for violation in violations(page):
            targets = [node["target"] for node in violation["nodes"]][:3]
            found.append(f"{each.name}: {violation['id']} at {targets}")
        width = page.evaluate("document.documentElement.scrollWidth")
        if width > viewport["width"]:
            found.append(f"{each.name}: {width} px wide on a screen of {viewport['width']}")
    assert found == []


def test_no_address_is_forgotten(keeper: Person, artist: Person) -> None:
    """`fill_studio` reverses every name that the site has, so a new one fails there."""
    visited = {each.name for each in fill_studio(keeper, artist)}
    assert {"firings:today", "studio:sign_in"} <= visited
    assert len(list(url_names())) > 60
