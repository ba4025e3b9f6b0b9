"""Two people change one record at a time."""

from collections.abc import Callable
from datetime import date

from django.test import Client
from django.urls import reverse

from studio.models import Kiln, Person, ServiceEntry
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


def test_two_windows_of_one_account_each_save_their_part(
    artist: Person, signed_in: SignedIn
) -> None:
    address = reverse("studio:account")
    one, other = signed_in(artist), signed_in(artist)
    first, second = (each.get(address).context["form"] for each in (one, other))
    one.post(address, as_shown(first) | {"unit": "F"})
    other.post(address, as_shown(second) | {"name": "Inka of the mill"})
    artist.refresh_from_db()
    assert (artist.name, artist.unit) == ("Inka of the mill", "F")


def test_two_people_each_save_their_part_of_a_line_of_the_service_diary(
    keeper: Person, signed_in: SignedIn
) -> None:
    entry = ServiceEntry.objects.create(
        kiln=make_kiln(), kind="other", done_on=date(2026, 3, 1), written_by=keeper
    )
    address = reverse("studio:service_entry_change", args=[entry.pk])
    one, other = signed_in(keeper), signed_in(keeper)
    first, second = (each.get(address).context["form"] for each in (one, other))
    one.post(address, as_shown(first) | {"note": "lid hinge oiled"})
    other.post(address, as_shown(second) | {"done_by": "the electrician"})
    entry.refresh_from_db()
    assert (entry.note, entry.done_by) == ("lid hinge oiled", "the electrician")
