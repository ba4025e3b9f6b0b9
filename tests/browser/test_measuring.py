"""Measuring a kiln on a phone: by taps, and without script."""

from collections.abc import Callable

from django.urls import reverse
from playwright.sync_api import Page, expect

from firings.models import PlaceReading
from studio.models import Kiln, Person
from tests.browser.conftest import PHONE
from tests.factories import make_kiln, make_place


def measured_kiln() -> tuple[Kiln, str]:
    kiln = make_kiln()
    place = make_place(kiln, is_reference=True)
    return kiln, f"#id_place_{place.pk}"


def test_a_place_begins_at_the_display_and_moves_by_taps(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    kiln, place = measured_kiln()
    page = open_page(artist, viewport=PHONE)
    page.goto(reverse("firings:measurement_add", args=[kiln.pk]))
    page.fill("#id_display_c", "800")
    page.fill("#id_tolerance_c", "3")
    nudged = page.locator(".nudge", has=page.locator(place))
    nudged.get_by_role("button", name="+10").click()
    nudged.get_by_role("button", name="−1", exact=True).click()
    expect(page.locator(place)).to_have_value("809")

    page.get_by_role("button", name="Note it").click()

    expect(page.get_by_text("What was measured is saved.")).to_be_visible()
    expect(page.get_by_text("+9 °C ± 5 °C").first).to_be_visible()
    assert PlaceReading.objects.get().shown_c == 809.0


def test_without_script_it_is_typed(artist: Person, open_page: Callable[..., Page]) -> None:
    kiln, place = measured_kiln()
    page = open_page(artist, viewport=PHONE, scripts=False)
    page.goto(reverse("firings:kiln_measured", args=[kiln.pk]))
    page.get_by_role("link", name="Measure this kiln").click()
    page.get_by_role("link", name="Witness tiles").click()
    page.get_by_role("link", name="A second thermometer").click()
    expect(page.get_by_role("button", name="+10")).to_have_count(0)
    page.fill("#id_display_c", "800")
    page.fill("#id_tolerance_c", "3")
    page.fill(place, "806,5")
    page.get_by_role("button", name="Note it").click()

    expect(page.get_by_text("+6.5 °C").first).to_be_visible()
