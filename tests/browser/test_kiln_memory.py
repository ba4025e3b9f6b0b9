"""What a controller remembers, on a phone: noted from the card, and stale after a revision."""

from collections.abc import Callable

from django.urls import reverse
from playwright.sync_api import Page, expect

from schedules.models import MemorySlot
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import make_firing, make_kiln, make_revision


def test_a_slot_is_noted_and_tells_when_it_is_stale(
    artist: Person, open_page: Callable[..., Page]
) -> None:
    kiln = make_kiln(memory_slots=12)
    firing = make_firing(artist, kiln=kiln)
    schedule = firing.revision.schedule
    page = open_page(artist, viewport=PHONE)
    card = reverse("schedules:keying_card", args=[schedule.pk, firing.revision.number])
    page.goto(f"{card}?kiln={kiln.pk}")
    page.get_by_label("It is keyed into slot").fill("4")
    page.get_by_role("region", name="In the controller’s memory").get_by_role("button").click()
    slot = MemorySlot.objects.get()
    assert (slot.slot, slot.revision, slot.keyed_by) == (4, firing.revision, artist)

    newer = make_revision(schedule)
    firing.revision = newer
    firing.save()
    page.goto(reverse("firings:firing_start", args=[firing.pk]))
    memory = page.get_by_role("region", name="In the controller’s memory")
    expect(memory.get_by_text("Key it anew before you fire")).to_be_visible()
    page.goto(reverse("studio:kiln_detail", args=[kiln.pk]))
    page.get_by_role("link", name="Memory").click()
    expect(page.get_by_text(f"Revision {newer.number} is newer:")).to_be_visible()
    page.get_by_role("link", name="key it anew").click()
    page.get_by_label("It is keyed into slot").fill("4")
    page.get_by_role("region", name="In the controller’s memory").get_by_role("button").click()
    assert MemorySlot.objects.filter(replaced_at=None).get().revision == newer
    page.goto(reverse("schedules:kiln_memory", args=[kiln.pk]))
    expect(page.get_by_text("is newer:")).to_have_count(0)
    expect(page.get_by_text("What stood there before")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
