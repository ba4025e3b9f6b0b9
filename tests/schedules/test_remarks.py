"""Remarks on the pages of a schedule: beside their segments, three at once, mended by one tap."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from schedules.models import Revision
from schedules.queries.remarks import AT_ONCE, remark_list
from schedules.services.checks import Remark
from studio.models import Person
from tests.factories import make_kiln, make_revision, make_schedule
from tests.schedules.editor_forms import revision_sent, schedule_sent
from tests.schedules.hasty import HASTY, make_hasty

SignIn = Callable[[Person], Client]
HX = {"HX-Request": "true"}
TYPED = [(rate or "", target, str(hold)) for rate, target, hold in HASTY]


@pytest.fixture
def hasty(artist: Person) -> Revision:
    return make_hasty(artist)


def page(revision: Revision) -> str:
    return reverse("schedules:schedule_detail", args=[revision.schedule_id])


def editor(revision: Revision) -> str:
    return reverse("schedules:revision_copy", args=[revision.schedule_id, revision.number])


def rows_of(response: object) -> list[tuple[str, str, str]]:
    forms = response.context["editor"].segments.forms  # type: ignore[attr-defined]
    return [tuple(form[name].value() for name in ("rate", "target", "hold")) for form in forms]


def test_three_are_shown_at_once_the_gravest_first() -> None:
    found = [Remark("heating_fast", "warn", index, 400.0, 150.0) for index in range(5)]
    asked: list[int | None] = []

    def mends(remark: Remark) -> None:
        asked.append(remark.segment)

    remarks = remark_list(found, "C", mends=mends)
    assert [each.line.position for each in remarks.shown] == [1, 2, 3]
    assert [each.line.position for each in remarks.more] == [4, 5]
    assert asked == list(range(AT_ONCE))
    assert [each.line.key for each in remarks.beside(2)] == ["heating_fast-2"]
    assert remarks.above == []


def test_each_stands_beside_its_segment(hasty: Revision, artist: Person, signed_in: SignIn) -> None:
    response = signed_in(artist).get(page(hasty))
    beside = {
        line.position: [each.line.key for each in remarks]
        for line, remarks in response.context["shown"].rows
        if remarks
    }
    assert beside == {
        1: ["heating_fast-1"],
        3: ["peak_above_range-3"],
        4: ["soak_short-4"],
    }
    text = response.content.decode()
    assert "Smallest change: <strong>anneal soak 20 min → 1 h 00</strong>" in text
    assert "Take care." in text


def test_more_than_three_are_folded(artist: Person, signed_in: SignIn) -> None:
    plan = [("400", "300", 0), ("400", "540", 0), *HASTY[2:]]
    revision = make_revision(make_schedule(artist), plan, written_for=make_kiln())
    response = signed_in(artist).get(page(revision))
    remarks = response.context["shown"].remarks
    assert (len(remarks.shown), len(remarks.more)) == (3, len(remarks.heard) - 3)
    assert f"{len(remarks.more)} more remark" in response.content.decode()


def test_nothing_speaks_against_a_sound_schedule(artist: Person, signed_in: SignIn) -> None:
    revision = make_revision(make_schedule(artist), written_for=make_kiln())
    text = signed_in(artist).get(page(revision)).content.decode()
    assert "Nothing speaks against it." in text
    assert "A calculation, not a guarantee" in text


def test_who_may_not_revise_reads_remarks_without_acts(
    hasty: Revision, student: Person, signed_in: SignIn
) -> None:
    text = signed_in(student).get(page(hasty)).content.decode()
    assert "Heating at 400 °C/h is fast" in text
    assert "Make this change" not in text


def test_schedule_page_leads_to_the_editor_with_the_change_made(
    hasty: Revision, artist: Person, signed_in: SignIn
) -> None:
    kiln = hasty.written_for
    assert kiln is not None
    browser, address = signed_in(artist), f"{editor(hasty)}?mend=soak_short-4&kiln={kiln.pk}"
    assert address.replace("&", "&amp;") in browser.get(page(hasty)).content.decode()
    response = browser.get(address)
    assert rows_of(response)[3] == ("", "482", "1:00")
    assert rows_of(response)[:3] == [
        tuple(row) for row in (("400", "540", ""), ("300", "670", "30"), ("300", "880", "10"))
    ]
    reason = response.context["editor"].revision["reason"].value()
    assert reason.startswith("Segment 4, anneal soak 20 min → 1 h 00: the anneal soak is 20 min;")
    text = response.content.decode()
    assert '<p class="was">was 20</p>' in text
    assert hasty.schedule.revisions.count() == 1

    # One more tap saves it.
    sent = revision_sent(
        [row if index != 3 else ("", "482", "1:00") for index, row in enumerate(TYPED)],
        kiln,
        reason=reason,
        newest_seen="1",
    )
    browser.post(address, sent)
    made = hasty.schedule.revisions.latest()
    assert (made.number, made.reason) == (2, reason)
    assert [row.hold_minutes for row in made.segments.all()] == [0, 30, 10, 60, 0]


def test_remark_that_is_gone_changes_nothing(
    hasty: Revision, artist: Person, signed_in: SignIn
) -> None:
    response = signed_in(artist).get(f"{editor(hasty)}?mend=no_soak-0")
    assert "not there any more" in response.content.decode()
    assert len(rows_of(response)) == len(HASTY)
    assert not response.context["editor"].revision["reason"].value()


@pytest.mark.parametrize("headers", [HX, {}])
def test_editor_changes_its_rows_and_saves_nothing(
    hasty: Revision, artist: Person, signed_in: SignIn, headers: dict[str, str]
) -> None:
    rows = [("33x", "200", ""), *TYPED]
    sent = revision_sent(rows, hasty.written_for, do="mend-heating_fast-1", reason="My own")
    response = signed_in(artist).post(editor(hasty), sent, headers=headers)
    changed = rows_of(response)
    # The row that can't be read stays where it is, and the others as they were typed.
    assert changed[0] == ("33x", "200", "")
    assert changed[1] == ("150", "540", "0")
    assert changed[2:] == TYPED[1:]
    text = response.content.decode()
    assert '<p class="was">was 400</p>' in text
    assert ("<html" in text) is (not headers)
    assert hasty.schedule.revisions.count() == 1


def test_added_segment_is_marked_as_new(artist: Person, signed_in: SignIn) -> None:
    family_pk = make_schedule(artist).family_id
    kiln = make_kiln()
    rows = [TYPED[0], TYPED[2], ("80", "370", "")]
    sent = schedule_sent(family_pk, rows, kiln, do="mend-no_soak-0")
    response = signed_in(artist).post(reverse("schedules:schedule_add"), sent, headers=HX)
    assert rows_of(response) == [rows[0], rows[1], ("", "482", "1:00"), rows[2]]
    assert '<p class="was">new</p>' in response.content.decode()


def test_fahrenheit_is_changed_in_fahrenheit(artist: Person, signed_in: SignIn) -> None:
    kiln = make_kiln("Wren", controller_unit="F")
    plan = [("720", "1000", 0), ("540", "1240", 30), ("540", "1480", 10), (None, "900", 60)]
    revision = make_revision(make_schedule(artist), plan, unit="F", written_for=kiln)
    response = signed_in(artist).get(f"{editor(revision)}?mend=heating_fast-1&kiln={kiln.pk}")
    # 150 °C/h is 270 °F/h.
    assert rows_of(response)[0] == ("270", "1000", "")
    assert rows_of(response)[1] == ("540", "1240", "30")


def test_unreadable_remark_keys_are_no_fault(
    hasty: Revision, artist: Person, signed_in: SignIn
) -> None:
    browser = signed_in(artist)
    for key in ("", "soak_short", "soak_short-", "soak_short-99", "☃-1"):
        assert browser.get(editor(hasty), {"mend": key}).status_code == 200
        sent = revision_sent(TYPED, hasty.written_for, do=f"mend-{key}")
        assert browser.post(editor(hasty), sent, headers=HX).status_code == 200


def test_carried_revision_is_saved_with_a_change(
    hasty: Revision, artist: Person, signed_in: SignIn
) -> None:
    browser = signed_in(artist)
    address = reverse("schedules:revision_carry", args=[hasty.schedule_id, 1])
    sent = {"targets": "1", "rates": "1", "reason": "Carried.", "newest_seen": "1"}
    page = browser.get(address).content.decode()
    assert "Save it with this change" in page
    gone = browser.post(address, sent | {"mend": "no_soak-0"})
    assert "not there any more" in gone.content.decode()
    browser.post(address, sent | {"mend": "soak_short-4"})
    made = hasty.schedule.revisions.latest()
    assert (made.number, made.unit) == (2, "F")
    assert [row.hold_minutes for row in made.segments.all()] == [0, 30, 10, 60, 0]
    assert made.reason.startswith("Carried. Segment 4, anneal soak 20 min → 1 h 00")


@pytest.mark.parametrize("reader", ["artist", "student"])
def test_difference_shows_them_as_the_schedules_page_does(
    hasty: Revision, reader: str, signed_in: SignIn, request: pytest.FixtureRequest
) -> None:
    later = make_revision(hasty.schedule, HASTY, written_for=hasty.written_for)
    browser = signed_in(request.getfixturevalue(reader))
    answer = browser.get(reverse("schedules:revision_difference", args=[hasty.schedule_id]))
    text = answer.content.decode()
    assert "What speaks against revision 2" in text
    assert len(answer.context["difference"].remarks.shown) == 3
    own, copy = f"{editor(later)}?mend=soak_short-4", f"from={later.pk}&amp;mend=soak_short-4"
    assert (own in text, copy in text) == (reader == "artist", reader == "student")
