"""What can be done about a remark where a firing is planned."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from firings.models import Firing, KeyedDifference
from firings.queries.load import LoadCheck, load_check
from firings.queries.record import firing_for_page
from schedules.models import Revision
from studio.models import Person
from tests.factories import load_piece, make_firing, make_glass, make_kiln, make_revision
from tests.schedules.hasty import make_hasty

SignedIn = Callable[[Person], Client]


@pytest.fixture
def hasty(artist: Person) -> Revision:
    return make_hasty(artist)


@pytest.fixture
def planned(hasty: Revision, artist: Person) -> Firing:
    return make_firing(artist, revision=hasty, kiln=hasty.written_for)


def at(view: str, *args: object) -> str:
    return reverse(f"firings:{view}", args=args)


def check_of(firing: Firing) -> LoadCheck:
    return load_check(firing_for_page(firing.pk), "C")


def change_of(firing: Firing, key: str, **sent: Any) -> dict[str, Any]:
    """What the button beside a remark sends."""
    heard = check_of(firing).remarks.named(key)
    assert heard is not None
    assert heard.mending is not None
    return {"change": heard.mending.words, "newest_seen": check_of(firing).newest, **sent}


def test_one_tap_makes_the_revision_and_fires_by_it(
    planned: Firing, artist: Person, signed_in: SignedIn
) -> None:
    browser, page = signed_in(artist), at("firing_detail", planned.pk)
    address = at("firing_mend", planned.pk, "soak_short-4")
    assert f'action="{address}"' in browser.get(page).content.decode()
    sent = change_of(planned, "soak_short-4", form_key=uuid4())
    assert browser.post(address, sent).url == page  # type: ignore[attr-defined]
    planned.refresh_from_db()
    made = planned.revision
    assert (made.number, made.copied_from.number) == (2, 1)  # type: ignore[union-attr]
    assert [row.hold_minutes for row in made.segments.all()] == [0, 30, 10, 60, 0]
    assert made.reason.startswith("Segment 4, anneal soak 20 min → 1 h 00")
    assert "soak_short-4" not in [line.key for line in check_of(planned).remarks.lines]

    # The same form sent again leads to the same firing, and writes no third revision.
    assert browser.post(address, sent).url == page  # type: ignore[attr-defined]
    assert planned.revision.schedule.revisions.count() == 2


def test_change_is_for_what_lies_in_the_kiln(artist: Person, signed_in: SignedIn) -> None:
    planned = make_firing(artist)
    assert check_of(planned).remarks.heard == []
    load_piece(planned, thickest_mm=12.0, thinnest_mm=12.0)
    key = next(each.line.key for each in check_of(planned).remarks.shown if each.mending)
    signed_in(artist).post(at("firing_mend", planned.pk, key), change_of(planned, key))
    planned.refresh_from_db()
    assert planned.revision.number == 2
    assert check_of(planned).remarks.named(key) is None


@pytest.mark.parametrize("wrong", [{"change": "hold 1 → 2"}, {"newest_seen": "7"}])
def test_what_was_not_read_is_not_made(
    planned: Firing, artist: Person, signed_in: SignedIn, wrong: dict[str, str]
) -> None:
    sent = change_of(planned, "soak_short-4") | wrong
    browser, address = signed_in(artist), at("firing_mend", planned.pk, "soak_short-4")
    answer = browser.post(address, sent, follow=True)
    assert "Nothing was changed" in answer.content.decode() or "has made revision" in (
        answer.content.decode()
    )
    assert planned.revision.schedule.revisions.count() == 1


@pytest.mark.parametrize("state", ["firing", "opened"])
def test_nothing_is_offered_once_it_runs(
    hasty: Revision, artist: Person, signed_in: SignedIn, state: str
) -> None:
    firing = make_firing(artist, revision=hasty, kiln=hasty.written_for, state=state)
    load_piece(firing, thickest_mm=30.0)
    browser = signed_in(artist)
    text = browser.get(at("firing_detail", firing.pk)).content.decode()
    assert "Make this change" not in text
    assert "Silence it" not in text
    for view in ("firing_mend", "firing_remark_silence"):
        answer = browser.post(at(view, firing.pk, "soak_short-4"), {"reason": "x"})
        assert answer.status_code == 302
    assert hasty.schedule.revisions.count() == 1
    assert hasty.schedule.silenced_remarks.count() == 0


def test_change_is_not_offered_where_something_is_keyed_otherwise(planned: Firing) -> None:
    KeyedDifference.objects.create(firing=planned, position=4, part="hold", value=25)
    check = check_of(planned)
    assert check.newest is None
    assert not any(each.mending for each in check.remarks.heard)


def test_three_at_once_of_load_and_schedule_together(
    planned: Firing, artist: Person, signed_in: SignedIn
) -> None:
    load_piece(planned, thickest_mm=12.0, glass=make_glass(), title="Reef")
    load_piece(planned, width_mm=5000.0, length_mm=5000.0, title="Barn door")
    remarks = check_of(planned).remarks
    severities = [each.line.severity for each in remarks.heard]
    order = {"block": 0, "warn": 1, "note": 2}
    assert severities == sorted(severities, key=order.__getitem__)
    assert remarks.shown[0].line.about == "Barn door"
    assert len(remarks.shown) == 3 < len(remarks.heard)
    for view in ("load_edit", "firing_detail"):
        text = signed_in(artist).get(at(view, planned.pk)).content.decode()
        assert f"{len(remarks.more)} more remark" in text


def test_remark_on_a_load_is_silenced_and_heard_again(
    planned: Firing, artist: Person, signed_in: SignedIn
) -> None:
    load_piece(planned, thickest_mm=9.0, title="Reef & reed")
    browser, page = signed_in(artist), at("firing_detail", planned.pk)
    key = "load-thickness-outside"
    address = at("firing_remark_silence", planned.pk, key)
    assert address in browser.get(at("load_edit", planned.pk)).content.decode()
    assert "(6 mm): Reef &amp; reed." in browser.get(address).content.decode()
    assert browser.post(address, {"reason": ""}).status_code == 200
    assert browser.post(address, {"reason": "Fired so often."}).url == page  # type: ignore[attr-defined]
    assert [each.line.key for each in check_of(planned).remarks.silenced] == [key]
    text = browser.get(page).content.decode()
    assert "1 silenced" in text
    assert "Fired so often." in text

    # A piece that lies clearly further outside is heard again.
    load_piece(planned, thickest_mm=20.0, title="Pier")
    assert check_of(planned).remarks.silenced == []

    row = planned.revision.schedule.silenced_remarks.get()
    hear = reverse("schedules:remark_hear", args=[row.pk])
    assert browser.post(hear, {"back": page}).url == page  # type: ignore[attr-defined]
    elsewhere = browser.post(hear, {"back": "https://elsewhere.example/"})
    assert elsewhere.url.startswith("/schedules/")  # type: ignore[attr-defined]


def test_who_may_not_revise_reads_the_change_and_the_way_to_a_copy(
    hasty: Revision, student: Person, signed_in: SignedIn
) -> None:
    firing = make_firing(student, revision=hasty, kiln=hasty.written_for)
    browser = signed_in(student)
    text = browser.get(at("firing_detail", firing.pk)).content.decode()
    assert "Smallest change: <strong>" in text
    assert "Make this change" not in text
    assert f"{reverse('schedules:schedule_add')}?from={hasty.pk}" in text
    address = at("firing_mend", firing.pk, "soak_short-4")
    assert browser.post(address, change_of(firing, "soak_short-4")).status_code == 403
    assert browser.get(at("firing_remark_silence", firing.pk, "soak_short-4")).status_code == 403


def test_load_pages_keep_their_query_count(
    planned: Firing, artist: Person, signed_in: SignedIn
) -> None:
    browser = signed_in(artist)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            browser.get(at("load_edit", planned.pk))
        return len(seen)

    load_piece(planned, thickest_mm=12.0, glass=make_glass())
    queries()
    first = queries()
    for number in range(3):
        load_piece(planned, thickest_mm=12.0 + number, glass=make_glass(), title=f"Reef {number}")
    assert queries() == first


# While it is planned.


def plan(revision: Revision, artist: Person, **sent: Any) -> dict[str, Any]:
    kiln = revision.written_for
    assert kiln is not None
    return {
        "kiln": kiln.pk,
        "revision": revision.pk,
        "fired_by": artist.pk,
        "title": "Breakwater",
        "notes": "Lower shelf.",
        **sent,
    }


def test_plan_takes_the_change_and_keeps_what_was_typed(
    hasty: Revision, artist: Person, signed_in: SignedIn
) -> None:
    browser = signed_in(artist)
    page = browser.post(at("firing_plan"), plan(hasty, artist, look="yes"))
    heard = page.context["outlook"].remarks.named("soak_short-4")
    text = page.content.decode()
    assert f'formaction="{at("firing_plan_mend")}"' in text
    sent = plan(hasty, artist, mend="soak_short-4", newest_seen="1")
    sent["change-soak_short-4"] = heard.mending.words
    after = browser.post(at("firing_plan_mend"), sent)
    made = hasty.schedule.revisions.latest()
    assert made.number == 2
    form = after.context["form"]
    assert form["revision"].value() == str(made.pk)
    assert (form["title"].value(), form["notes"].value()) == ("Breakwater", "Lower shelf.")
    assert after.context["outlook"].remarks.named("soak_short-4") is None
    assert not Firing.objects.exists()
    assert f'<form method="post" action="{at("firing_plan")}"' in after.content.decode()

    # Sent once more by a reload it makes nothing.
    again = browser.post(at("firing_plan_mend"), sent)
    assert "has made revision 2 meanwhile" in again.content.decode()
    assert hasty.schedule.revisions.count() == 2


def test_plan_of_anothers_schedule_leads_to_a_copy_with_the_change_made(
    hasty: Revision, student: Person, signed_in: SignedIn
) -> None:
    browser = signed_in(student)
    page = browser.post(at("firing_plan"), plan(hasty, student, look="yes")).content.decode()
    assert "Make this change" not in page
    kiln = hasty.written_for
    assert kiln is not None
    address = (
        f"{reverse('schedules:schedule_add')}?from={hasty.pk}&mend=soak_short-4&kiln={kiln.pk}"
    )
    assert address.replace("&", "&amp;") in page
    rows = browser.get(address).context["editor"].segments.forms
    assert rows[3]["hold"].value() == "1:00"
    sent = plan(hasty, student, mend="soak_short-4", **{"change-soak_short-4": "x"})
    assert browser.post(at("firing_plan_mend"), sent).status_code == 403


def test_unfinished_plan_stays_as_it_is(artist: Person, signed_in: SignedIn) -> None:
    make_revision(make_hasty(artist).schedule, written_for=make_kiln("Wren"))
    answer = signed_in(artist).post(
        at("firing_plan_mend"), {"title": "Ebb", "mend": "soak_short-4"}
    )
    assert answer.context["form"]["title"].value() == "Ebb"
    assert answer.context["outlook"] is None


@pytest.mark.parametrize("view", ["firing_plan_mend", "firing_mend"])
def test_wrong_method_is_refused(
    planned: Firing, artist: Person, signed_in: SignedIn, view: str
) -> None:
    args = [] if view == "firing_plan_mend" else [planned.pk, "soak_short-4"]
    assert signed_in(artist).get(at(view, *args)).status_code == 405
