"""A student's plan waits for an instructor, who clears it, returns it, or changes it."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firings.actions.clearing import DecidedMeanwhileError, firing_decide
from firings.actions.record import firing_change, firing_start
from firings.models import Clearing, ClearingDecision, Firing, FiringState
from firings.queries.clearing import clearing_of, firings_to_clear, seen_of
from studio.models import Person, Studio
from tests.factories import (
    load_piece,
    make_class,
    make_firing,
    make_kiln,
    make_person,
    make_revision,
)

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


@pytest.fixture
def planned(instructor: Person, student: Person) -> Firing:
    make_class(instructor, students=[student])
    firing = make_firing(student)
    load_piece(firing)
    return firing


def decide(firing: Firing, by: Person, decision: str = "cleared", **facts: Any) -> Clearing:
    latest = firing.clearings.first()
    usual = {"seen": seen_of(firing), "latest": latest.pk if latest else None}
    return firing_decide(firing=firing, by=by, decision=ClearingDecision(decision), **usual | facts)


def address(firing: Firing, name: str = "firing_clearing") -> str:
    return reverse(f"firings:{name}", args=[firing.pk])


def posted(firing: Firing, **given: Any) -> dict[str, Any]:
    latest = firing.clearings.first()
    shown = {"seen": seen_of(firing), "latest": latest.pk if latest else ""}
    return {"decision": "cleared"} | shown | given


def test_it_is_asked_for_a_class_that_asks_and_where_the_studio_does(
    instructor: Person, student: Person, artist: Person
) -> None:
    alone = make_firing(student)
    assert clearing_of(alone).standing == "not_asked"
    taught = make_class(instructor, students=[student])
    assert clearing_of(alone).standing == "waiting"
    taught.asks_clearing = False
    taught.save()
    assert clearing_of(alone).standing == "not_asked"
    Studio.objects.update_or_create(pk=1, defaults={"asks_clearing": True})
    assert clearing_of(alone).standing == "waiting"
    assert clearing_of(make_firing(artist)).standing == "not_asked"


def test_a_firing_that_was_not_cleared_cannot_be_started(
    planned: Firing, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    with pytest.raises(ValidationError, match="waits to be cleared by Oona"):
        firing_start(firing=planned)
    client = signed_in(student)
    page = client.get(address(planned, "firing_detail"))
    assert "It waits to be cleared by Oona" in page.text
    assert address(planned, "firing_start") not in page.text
    for answer in (client.get, client.post):
        told = answer(address(planned, "firing_start"), follow=True)
        assert "It waits to be cleared by Oona." in told.text
    planned.refresh_from_db()
    assert planned.state == FiringState.PLANNED

    decide(planned, instructor)
    assert "Cleared: it may be started." in client.get(address(planned, "firing_detail")).text
    assert firing_start(firing=planned).state == FiringState.FIRING


def test_a_change_after_it_needs_clearing_again_and_says_what_changed(
    planned: Firing, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    decide(planned, instructor)
    firing_change(firing=planned, changes={"title": "Tide", "notes": "first try"})
    planned.refresh_from_db()
    assert clearing_of(planned).standing == "cleared", "its title is nobody's danger"

    loaded = planned.load.get()
    loaded.thickest_mm = 12.0
    loaded.save()
    other = make_kiln("Wren")
    planned = firing_change(firing=planned, changes={"kiln": other})
    clearing = clearing_of(Firing.objects.get(pk=planned.pk))
    assert (clearing.standing, clearing.changed) == ("changed", ("kiln", "load"))
    page = signed_in(student).get(address(planned, "firing_detail"))
    assert "It was changed since it was cleared: the kiln, the load." in page.text
    with pytest.raises(ValidationError, match="changed since it was cleared"):
        firing_start(firing=planned)


def test_instructor_sees_all_of_it_and_clears(
    planned: Firing, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    newer = make_revision(
        planned.revision.schedule, [("150", "804", 20)], number=2, reason="hotter at once"
    )
    planned = firing_change(firing=planned, changes={"revision": newer})
    client = signed_in(instructor)
    page = client.get(address(planned))
    for said in ("Tide blank", "Changed against revision 1", "hotter at once", "Your decision"):
        assert said in page.text
    answer = client.post(address(planned), posted(planned, comment="Well thought of."), follow=True)
    assert "Nothing waits to be cleared." in answer.text
    made = planned.clearings.get()
    assert (made.decision, made.decided_by) == ("cleared", instructor)
    assert made.comment == "Well thought of."


def test_returned_with_a_word_at_a_segment_or_a_piece(
    planned: Firing, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    client = signed_in(instructor)
    answer = client.post(address(planned), posted(planned, decision="returned"))
    assert "Say why: it stays with the firing." in answer.text
    at_segment = posted(planned, decision="returned", about="segment-3", comment="Too hot here.")
    client.post(address(planned), at_segment)
    page = signed_in(student).get(address(planned, "firing_detail")).text
    assert "<b>Segment 3:</b> Too hot here." in page
    assert clearing_of(planned).standing == "returned"
    with pytest.raises(ValidationError, match="Oona returned it"):
        firing_start(firing=planned)

    loaded = planned.load.get()
    client.post(
        address(planned),
        posted(planned, decision="returned", about=f"piece-{loaded.pk}", comment="Measure it."),
    )
    page = signed_in(student).get(address(planned, "firing_detail")).text
    assert "<b>“Tide blank”:</b> Measure it." in page
    assert "Earlier decisions (1)" in page
    loaded.thickest_mm = 8.0
    loaded.save()
    assert clearing_of(Firing.objects.get(pk=planned.pk)).standing == "waiting"


def test_of_two_instructors_the_second_is_told_and_keeps_what_was_typed(
    planned: Firing, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    second = make_person("petr", role="instructor")
    planned_class = student.class_memberships.get().teaching_class
    planned_class.instructors.add(second)
    seen_by_second = posted(planned, decision="returned", comment="Slower, please.")
    decide(planned, instructor)
    answer = signed_in(second).post(address(planned), seen_by_second)
    assert "Oona decided meanwhile: cleared. Look at it again." in answer.text
    assert "Slower, please." in answer.text
    assert planned.clearings.count() == 1
    # What came back shows what stands now, so that the same words can be sent.
    again = {name: answer.context["form"][name].value() for name in ("seen", "latest", "comment")}
    signed_in(second).post(address(planned), again | {"decision": "returned"})
    assert clearing_of(planned).standing == "returned"


def test_what_was_changed_under_ones_eyes_is_not_cleared(
    planned: Firing, instructor: Person
) -> None:
    seen = seen_of(planned)
    load_piece(planned, title="A late one")
    with pytest.raises(DecidedMeanwhileError, match="changed meanwhile"):
        decide(Firing.objects.get(pk=planned.pk), instructor, seen=seen)


def test_instructor_changes_the_schedule_and_the_firing_takes_it(
    planned: Firing, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    client = signed_in(instructor)
    assert "instead" not in client.get(address(planned)).text
    make_revision(planned.revision.schedule, number=2, made_by=instructor, reason="gentler")
    assert "Fire revision 2 instead" in client.get(address(planned)).text
    client.post(address(planned, "firing_take_newest"))
    planned = Firing.objects.get(pk=planned.pk)
    assert planned.revision.number == 2
    assert clearing_of(planned).standing == "waiting", "its changer looks at it once more"


def test_a_keeper_lets_it_go_with_a_reason_that_stays(
    planned: Firing, keeper: Person, student: Person, signed_in: SignIn
) -> None:
    client = signed_in(keeper)
    refused = client.post(address(planned, "firing_let_go"), posted(planned, comment=" "))
    assert "Say why: it stays with the firing." in refused.text
    client.post(address(planned, "firing_let_go"), posted(planned, comment="Oona is ill."))
    assert clearing_of(planned).standing == "let_go"
    firing_start(firing=planned)
    page = signed_in(student).get(address(planned, "firing_detail")).text
    assert "Oona is ill." in page
    assert "Let go without clearing by Mads" in page


def test_what_was_fired_without_clearing_says_so(
    instructor: Person, student: Person, signed_in: SignIn
) -> None:
    make_class(instructor, students=[student])
    firing = make_firing(student, state="opened")
    page = signed_in(student).get(address(firing, "firing_detail"))
    assert "Nobody cleared this firing." in page.text


def test_only_the_instructors_of_its_class_and_keepers_clear(
    planned: Firing, student: Person, artist: Person, signed_in: SignIn
) -> None:
    other = make_person("petr", role="instructor")
    for person in (other, artist, student):
        assert signed_in(person).get(address(planned)).status_code == 403
        assert signed_in(person).post(address(planned), posted(planned)).status_code == 403
    assert firings_to_clear(other, Studio.current()) == []


def test_a_started_firing_is_cleared_no_more(
    planned: Firing, instructor: Person, signed_in: SignIn
) -> None:
    decide(planned, instructor)
    firing_start(firing=planned)
    answer = signed_in(instructor).get(address(planned), follow=True)
    assert "This firing was started already" in answer.text


def test_the_list_asks_as_often_for_one_as_for_many(
    planned: Firing, instructor: Person, student: Person
) -> None:
    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            found = firings_to_clear(Person.objects.get(pk=instructor.pk), Studio.current())
        assert found
        return len(queries)

    asked()
    few = asked()
    for _ in range(5):
        load_piece(make_firing(student))
    assert asked() == few
    assert len(firings_to_clear(instructor, Studio.current())) == 6
