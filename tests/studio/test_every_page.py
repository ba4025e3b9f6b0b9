"""Every page of this app opens for a keeper, and none for an outsider."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from studio.actions.kilns import kiln_add
from studio.models import Invitation, Kiln, Person, ServiceEntry
from tests.factories import make_glass, make_kiln

PAGES = [
    "account",
    "first_steps",
    "password_change",
    "person_list",
    "person_detail",
    "invitation_make",
    "invitation_detail",
    "kiln_list",
    "kiln_add",
    "kiln_detail",
    "kiln_change",
    "place_list_change",
    "service_diary",
    "service_entry_add",
    "service_entry_change",
    "glass_list",
    "glass_add",
    "glass_detail",
    "glass_change",
    "family_list",
    "family_add",
    "family_change",
    "studio_change",
    "help_index",
    "help_words",
    "help_cautions",
    "style",
]


@pytest.fixture
def addresses(keeper: Person) -> dict[str, str]:
    kiln = kiln_add(kiln=_unsaved_kiln())
    glass = make_glass()
    entry = ServiceEntry.objects.create(kiln=kiln, kind="elements", written_by=keeper)
    invitation = Invitation.objects.create(invited_for="Tove", invited_by=keeper)
    things = {
        "person_detail": keeper,
        "invitation_detail": invitation,
        "service_entry_change": entry,
        "glass_detail": glass,
        "glass_change": glass,
        "family_change": glass.family,
    }
    for name in ("kiln_detail", "kiln_change", "place_list_change"):
        things[name] = kiln
    for name in ("service_diary", "service_entry_add"):
        things[name] = kiln
    return {
        name: reverse(f"studio:{name}", args=[things[name].pk] if name in things else [])
        for name in PAGES
    }


def _unsaved_kiln() -> Kiln:
    kiln = make_kiln("Plover", offset_c=18.0)
    Kiln.objects.all().delete()
    kiln.pk = None
    kiln._state.adding = True
    return kiln


@pytest.mark.parametrize("name", PAGES)
def test_keeper_opens_page(
    name: str,
    addresses: dict[str, str],
    keeper: Person,
    signed_in: Callable[[Person], Client],
) -> None:
    response = signed_in(keeper).get(addresses[name])

    assert response.status_code == 200
    assert b"<h1>" in response.content
    assert b'style="' not in response.content


@pytest.mark.parametrize("name", PAGES)
def test_outsider_is_led_to_sign_in(name: str, addresses: dict[str, str], outsider: Client) -> None:
    response = outsider.get(addresses[name])

    assert response.status_code == 302
    assert response.headers["Location"].startswith(reverse("studio:sign_in"))


@pytest.mark.parametrize("name", PAGES)
def test_page_refuses_other_methods(
    name: str,
    addresses: dict[str, str],
    keeper: Person,
    signed_in: Callable[[Person], Client],
) -> None:
    response = signed_in(keeper).delete(addresses[name])
    assert response.status_code == 405
    assert response.headers["Allow"]
    assert "only takes what a form sends" in response.text
