"""What a kiln's controller remembers: noted, replaced, and told when it is stale."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from schedules.actions.controller_memory import slot_key
from schedules.models import MemorySlot, Revision
from schedules.queries.controller_memory import controller_memory, memory_of_revision
from studio.models import Kiln, Person
from tests.at_once import at_once
from tests.factories import make_firing, make_kiln, make_revision, make_schedule

SignedIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln(memory_slots=6)


@pytest.fixture
def revision(artist: Person, kiln: Kiln) -> Revision:
    return make_revision(make_schedule(artist), written_for=kiln)


def test_slot_is_keyed_and_keyed_anew(kiln: Kiln, revision: Revision, artist: Person) -> None:
    first = slot_key(kiln=kiln, slot=3, revision=revision, by=artist)
    newer = make_revision(revision.schedule, written_for=kiln)
    assert controller_memory(kiln).slots[0].is_stale

    slot_key(kiln=kiln, slot=3, revision=newer, by=artist)

    memory = controller_memory(kiln)
    assert [(each.row.revision, each.is_stale) for each in memory.slots] == [(newer, False)]
    assert memory.earlier == [first]
    assert memory.free == [1, 2, 4, 5, 6]


def test_the_same_again_stands_since_then(kiln: Kiln, revision: Revision, artist: Person) -> None:
    first = slot_key(kiln=kiln, slot=3, revision=revision, by=artist)
    assert slot_key(kiln=kiln, slot=3, revision=revision, by=artist) == first
    assert MemorySlot.objects.count() == 1


def test_what_is_not_on_record_takes_a_slot_too(
    kiln: Kiln, revision: Revision, artist: Person
) -> None:
    slot_key(kiln=kiln, slot=1, revision=revision, by=artist)
    slot_key(kiln=kiln, slot=1, revision=None, by=artist)
    (slot,) = controller_memory(kiln).slots
    assert (slot.row.revision, slot.is_stale) == (None, False)
    assert not memory_of_revision(revision, kiln).here


def test_no_slot_beyond_the_controllers(kiln: Kiln, artist: Person) -> None:
    with pytest.raises(ValidationError, match="has 6 memory slots"):
        slot_key(kiln=kiln, slot=7, revision=None, by=artist)


@pytest.mark.django_db(transaction=True)
def test_of_two_who_key_at_once_both_are_told_of(artist: Person) -> None:
    kiln = make_kiln()
    revisions = [make_revision(make_schedule(artist, name=name)) for name in ("one", "two")]

    told = at_once(lambda each: slot_key(kiln=kiln, slot=1, revision=each, by=artist), revisions)

    assert not any(isinstance(each, ValidationError) for each in told)
    memory = controller_memory(kiln)
    assert (len(memory.slots), len(memory.earlier)) == (1, 1)


def test_a_card_notes_it_and_a_start_warns_of_another(
    kiln: Kiln, revision: Revision, artist: Person, signed_in: SignedIn
) -> None:
    browser = signed_in(artist)
    card = reverse("schedules:keying_card", args=[revision.schedule_id, revision.number])
    assert "Nobody noted it in a slot" in browser.get(card).text
    memory = reverse("schedules:kiln_memory", args=[kiln.pk])
    browser.post(memory, {"slot": "4", "revision": revision.pk})
    assert "slot 4" in browser.get(card).text
    newer = make_revision(revision.schedule, written_for=kiln)
    firing = make_firing(artist, kiln=kiln, revision=newer)
    start = browser.get(reverse("firings:firing_start", args=[firing.pk])).text
    assert "Slot 4 holds revision 1 of this schedule" in start.replace("<b>", "").replace(
        "</b>", ""
    )
    assert "Revision 2 is newer" in browser.get(memory).text


@pytest.mark.parametrize(
    ("slot", "told"),
    [("7", "has 6 memory slots"), ("0", "greater than or equal to 1"), ("", "required")],
)
def test_wrong_slots_are_told(
    kiln: Kiln, artist: Person, signed_in: SignedIn, slot: str, told: str
) -> None:
    address = reverse("schedules:kiln_memory", args=[kiln.pk])
    page = signed_in(artist).post(address, {"slot": slot, "revision": ""})
    assert told in page.text
    assert not MemorySlot.objects.exists()


def test_queries_stay_with_more_slots(
    kiln: Kiln, artist: Person, django_assert_num_queries: Any
) -> None:
    for slot in range(1, 7):
        revision = make_revision(make_schedule(artist, name=f"plan {slot}"))
        slot_key(kiln=kiln, slot=slot, revision=revision, by=artist)
        with django_assert_num_queries(3):
            assert len(controller_memory(kiln).slots) == slot
