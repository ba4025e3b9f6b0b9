import uuid
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from schedules.models import Revision
from studio.models import Person
from tests.factories import make_kiln, make_revision, make_schedule
from tests.schedules.editor_forms import FUSE, revision_sent

SignIn = Callable[[Person], Client]


@pytest.fixture
def first(artist: Person) -> Revision:
    return make_revision(
        make_schedule(artist), [("6.70", "540", 0), (None, "804.50", 90)], written_for=make_kiln()
    )


def url(revision: Revision) -> str:
    return reverse("schedules:revision_copy", args=[revision.schedule_id, revision.number])


def test_page_shows_the_numbers_as_written(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    text = signed_in(artist).get(url(first)).content.decode()
    for value in ("6.7", "540", "804.5", "1:30"):
        assert f'value="{value}"' in text
    assert f'<option value="{first.written_for_id}" selected>' in text
    assert 'name="newest_seen" value="1"' in text


def test_next_revision_is_made_with_its_reason(
    first: Revision, instructor: Person, signed_in: SignIn
) -> None:
    sent = revision_sent(FUSE, first.written_for, newest_seen="1")
    response = signed_in(instructor).post(url(first), sent)
    assert response.status_code == 302
    made = first.schedule.revisions.latest()
    assert (made.number, made.reason, made.made_by) == (2, "A longer hold", instructor)
    assert (made.copied_from, made.written_for, made.unit) == (first, first.written_for, "C")
    assert [str(row.target) for row in first.segments.all()] == ["540.00", "804.50"]


def test_reason_is_wanted_and_all_is_kept(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    response = signed_in(artist).post(url(first), revision_sent([("150", "543", "7")], reason=" "))
    assert response.context["editor"].revision.errors["reason"] == ["This field is required."]
    assert 'value="543"' in response.content.decode()
    assert first.schedule.revisions.count() == 1


def test_writer_is_told_of_a_newer_revision_and_nothing_typed_is_lost(
    first: Revision, artist: Person, instructor: Person, signed_in: SignIn
) -> None:
    browser = signed_in(artist)
    sent = revision_sent([("150", "543", "7")], newest_seen="1", form_key=str(uuid.uuid4()))
    make_revision(first.schedule, made_by=instructor, reason="Softer corners")

    told = browser.post(url(first), sent)
    text = told.content.decode()
    assert "Oona has made revision 2 meanwhile: “Softer corners”." in text
    assert 'value="543"' in text
    assert 'name="newest_seen" value="2"' in text
    assert first.schedule.revisions.count() == 2

    browser.post(url(first), sent | {"newest_seen": "2"})
    assert first.schedule.revisions.latest().number == 3


def test_unit_of_a_schedule_is_not_changed_by_copying(artist: Person, signed_in: SignIn) -> None:
    first = make_revision(make_schedule(artist), [("300", "1480", 10)], unit="F")
    signed_in(artist).post(url(first), revision_sent([("300", "1490", "10")], unit="C"))
    assert first.schedule.revisions.latest().unit == "F"


def test_form_sent_twice_makes_one_revision(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    sent = revision_sent(newest_seen="1", form_key=str(uuid.uuid4()))
    browser = signed_in(artist)
    browser.post(url(first), sent)
    assert browser.post(url(first), sent).status_code == 302
    assert first.schedule.revisions.count() == 2


def test_archived_schedule_takes_no_revision(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    first.schedule.archived_at = first.made_at
    first.schedule.save()
    response = signed_in(artist).post(url(first), revision_sent())
    assert "restore it first" in response.content.decode()
    assert first.schedule.revisions.count() == 1


def test_kiln_out_of_service_stays_the_one_written_for(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    kiln = first.written_for
    assert kiln is not None
    kiln.in_service = False
    kiln.save()
    signed_in(artist).post(url(first), revision_sent(FUSE, kiln))
    assert first.schedule.revisions.latest().written_for == kiln


def test_student_may_not_revise_anothers_schedule(
    first: Revision, student: Person, signed_in: SignIn
) -> None:
    browser = signed_in(student)
    assert browser.get(url(first)).status_code == 403
    assert browser.post(url(first), revision_sent()).status_code == 403
    assert browser.post(url(first), revision_sent(do="add")).status_code == 403
    assert first.schedule.revisions.count() == 1


def test_missing_revision_is_a_plain_page(
    first: Revision, artist: Person, signed_in: SignIn
) -> None:
    address = reverse("schedules:revision_copy", args=[first.schedule_id, 9])
    assert signed_in(artist).get(address).status_code == 404


def test_outsider_is_led_to_sign_in(first: Revision, outsider: Client) -> None:
    assert outsider.post(url(first), revision_sent()).status_code == 302
    assert first.schedule.revisions.count() == 1


def test_other_methods_are_refused(first: Revision, artist: Person, signed_in: SignIn) -> None:
    assert signed_in(artist).delete(url(first)).status_code == 405
