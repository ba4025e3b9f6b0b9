"""Two people change one record at a time."""

from collections.abc import Callable

from django.test import Client

from studio.models import Kiln, Person
from tests.factories import make_kiln, make_person
from tests.forms_sent import as_shown

SignedIn = Callable[[Person], Client]


def test_each_saves_what_they_changed_and_nothing_else(keeper: Person, signed_in: SignedIn) -> None:
    address = f"/kilns/{make_kiln('Heron', offset_c=2.0, in_service=True).pk}/change/"
    other = signed_in(make_person("tove", role="keeper", unit="F"))
    browser = signed_in(keeper)
    first, second = (each.get(address).context["form"] for each in (browser, other))

    browser.post(address, as_shown(first) | {"place": "by the door", "offset_c": "4"})
    other.post(address, as_shown(second) | {"note": "hums", "in_service": ""})

    kiln = Kiln.objects.get()
    assert (kiln.place, kiln.offset_c) == ("by the door", 4.0)
    assert (kiln.note, kiln.in_service) == ("hums", False)


def test_a_field_that_was_emptied_is_emptied(keeper: Person, signed_in: SignedIn) -> None:
    address = f"/kilns/{make_kiln('Heron', place='the shed').pk}/change/"
    browser = signed_in(keeper)

    browser.post(address, as_shown(browser.get(address).context["form"]) | {"place": ""})

    assert Kiln.objects.get().place == ""


def test_what_was_shown_is_remembered_through_a_refusal(
    keeper: Person, signed_in: SignedIn
) -> None:
    kiln = make_kiln("Heron", place="the shed")
    address, browser = f"/kilns/{kiln.pk}/change/", signed_in(keeper)
    shown = as_shown(browser.get(address).context["form"])
    Kiln.objects.update(place="the yard")

    refused = browser.post(address, shown | {"offset_c": "hot"})

    assert 'name="initial-place" value="the shed"' in refused.text
