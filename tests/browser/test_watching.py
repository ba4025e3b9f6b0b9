"""The live pages on a phone: right to the plan by their own script, with and without network."""

import json
import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from firings.core_inputs import keyed_curve
from firings.models import Firing, SpotReading
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import make_firing

OpenPage = Callable[..., Page]


def running(artist: Person) -> Firing:
    started_at = timezone.now() - timedelta(hours=2)
    return make_firing(artist, state="firing", started_at=started_at)


def now_page(firing: Firing) -> str:
    return reverse("firings:firing_now", args=[firing.pk])


def test_the_script_follows_the_curve(artist: Person, open_page: OpenPage) -> None:
    """From the figures that the page holds, to 0.1 °C of the core's own curve, cooling included."""
    firing = running(artist)
    curve = keyed_curve(firing)
    page = open_page(artist, viewport=PHONE)
    page.goto(now_page(firing))
    told = json.loads(page.locator("[data-fire]").get_attribute("data-fire") or "")
    moments = [120.0 * number for number in range(int((curve.duration or 0) / 120) + 400)]
    by_script = "([pieces, moments]) => moments.map((each) => curveAt(pieces, each))"
    shown = page.evaluate(by_script, [told["pieces"], moments])
    assert max(abs(value - curve.at(at)) for value, at in zip(shown, moments, strict=True)) < 0.1


def test_it_goes_on_by_itself_without_network(artist: Person, open_page: OpenPage) -> None:
    firing = running(artist)
    page = open_page(artist, viewport=PHONE)
    page.clock.install(time=timezone.now())
    polled: list[int] = []
    page.on(
        "response",
        lambda answer: (
            polled.append(answer.status) if "hx-request" in answer.request.headers else None
        ),
    )
    with page.expect_response(lambda answer: "hx-request" in answer.request.headers):
        page.goto(now_page(firing))
    expect(page.locator('[data-part="shown"]')).to_have_text(re.compile(r"^320\s°C$"))
    assert polled == [304]
    page.route("**/now/", lambda route: None)  # no answer comes any more
    page.clock.fast_forward(3600 * 1000)
    expect(page.locator('[data-part="shown"]')).to_have_text(re.compile(r"^470\s°C$"))
    expect(page.locator('[data-part="left"]')).to_have_text(re.compile(r"^28\smin$"))
    page.evaluate("document.dispatchEvent(new Event('htmx:sendError'))")
    expect(page.locator('[data-part="network"]')).to_have_text(re.compile("No network"))


def test_a_reading_by_taps_moves_the_plan(artist: Person, open_page: OpenPage) -> None:
    firing = running(artist)
    page = open_page(artist, viewport=PHONE)
    page.goto(now_page(firing))
    page.get_by_role("button", name="−10").click()
    page.get_by_role("button", name="−1", exact=True).click()
    expect(page.get_by_label("The display shows")).to_have_value("309")
    page.get_by_role("button", name="Note it").click()
    expect(page.locator("#now .remark")).to_contain_text("behind plan")
    assert SpotReading.objects.get().temperature_c == pytest.approx(309.0)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_without_script_it_is_a_page_of_times(artist: Person, open_page: OpenPage) -> None:
    page = open_page(artist, viewport=PHONE, scripts=False)
    page.goto(now_page(running(artist)))
    expect(page.locator('[data-part="shown"]')).to_have_text(re.compile("320"))
    expect(page.locator("#course tbody tr")).to_have_count(10)
    expect(page.get_by_role("button", name="−10")).to_be_hidden()
