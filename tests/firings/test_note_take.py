from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test import Client
from django.urls import reverse

from firings.actions.tuning import note_take
from firings.models import Firing, NoteTaken
from firings.queries.tuning import next_time_note
from schedules.actions.revision import MovedOnError
from schedules.models import Revision
from studio.models import Person, Studio
from tests.factories import (
    load_piece,
    make_firing,
    make_kiln,
    make_person,
    make_revision,
    make_schedule,
)

START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)


def short_firing(person: Person, revision: Revision, times: int = 3, verdict: int = -1) -> Firing:
    """The last of some firings that did what was keyed and came out a touch short."""
    for day in range(times):
        start = START + timedelta(days=day)
        firing = make_firing(
            person,
            revision=revision,
            state="opened",
            started_at=start,
            opened_at=start + timedelta(hours=16),
            recorded_peak_c=804.0,
            recorded_hold_s=600,
        )
        load_piece(firing, verdict=verdict, judged_by=person)
    return firing


@pytest.fixture
def firing(artist: Person) -> Firing:
    return short_firing(artist, make_revision(make_schedule(artist)))


def what_the_page_shows(client: Client, firing: Firing) -> dict[str, object]:
    page = client.get(reverse("firings:firing_detail", args=[firing.pk]))
    note = page.context["page"].note
    assert note.advice.action == "change"
    return {
        "newest_seen": note.newest.number,
        "size_seen": note.size,
        "form_key": str(page.context["form_key"]),
    }


def take(client: Client, firing: Firing, data: dict[str, object]) -> object:
    return client.post(reverse("firings:note_take", args=[firing.pk]), data)


def test_taking_makes_the_next_revision_with_the_note_as_its_reason(
    artist: Person, firing: Firing, signed_in
) -> None:
    client = signed_in(artist)

    response = take(client, firing, what_the_page_shows(client, firing))

    newest = firing.revision.schedule.revisions.latest()
    assert newest.number == 2
    assert newest.copied_from == firing.revision
    assert newest.written_for == firing.kiln
    assert f"by the note of firing {firing.pk} in Heron" in newest.reason
    assert "chance of “as wanted”" in newest.reason
    assert "\u00a0" not in newest.reason  # it is searched, and copied from page to page
    address = reverse("schedules:revision_detail", args=[firing.revision.schedule_id, 2])
    assert response["Location"] == address


def test_only_the_top_changes(artist: Person, firing: Firing, signed_in) -> None:
    client = signed_in(artist)
    take(client, firing, what_the_page_shows(client, firing))

    taken = NoteTaken.objects.get(firing=firing)
    before = list(firing.revision.segments.values_list("rate", "target", "hold_minutes"))
    after = list(taken.revision.segments.values_list("rate", "target", "hold_minutes"))

    assert after[:2] + after[3:] == before[:2] + before[3:]
    assert after[2][0] == before[2][0]
    assert float(after[2][1] - before[2][1]) == taken.forecast.peak_delta_c
    assert (after[2][2] - before[2][2]) * 60 == taken.forecast.hold_delta_s
    assert bool(taken.forecast.peak_delta_c) != bool(taken.forecast.hold_delta_s)


def test_the_forecast_and_what_it_rests_on_are_kept(
    artist: Person, firing: Firing, signed_in
) -> None:
    client = signed_in(artist)
    take(client, firing, what_the_page_shows(client, firing))

    taken = NoteTaken.objects.get(firing=firing)

    assert 0 < taken.forecast.chance_now < taken.forecast.chance_then < 1
    assert taken.forecast.chances_then[2] == taken.forecast.chance_then
    assert taken.forecast.rests_on.count() == 3
    assert taken.taken_by == artist


def test_a_revision_in_fahrenheit_moves_by_whole_degrees_of_its_own(artist: Person) -> None:
    make_kiln("Heron", controller_unit="F")
    segments = [("300", "1480", 10), (None, "900", 60)]
    revision = make_revision(make_schedule(artist, process="fire_polish"), segments, unit="F")
    firing = short_firing(artist, revision, verdict=-2)
    note = next_time_note(revision.schedule, firing.kiln, Studio.current(), reader=None)
    if note.advice.action != "change":
        pytest.fail(f"no change to take: {note.advice.reasons}")

    taken = note_take(
        firing=firing, by=artist, studio=Studio.current(), newest_seen=1, size_seen=note.size
    )

    top = taken.revision.segments.first()
    assert (top.target, top.hold_minutes) != (Decimal(1480), 10)
    assert top.target == top.target.to_integral_value()
    assert "°F" in taken.revision.reason


def test_the_same_form_twice_makes_one_revision(artist: Person, firing: Firing, signed_in) -> None:
    client = signed_in(artist)
    data = what_the_page_shows(client, firing)

    first, second = take(client, firing, data), take(client, firing, data)

    assert firing.revision.schedule.revisions.count() == 2
    assert first["Location"] == second["Location"]


def test_two_people_make_one_revision_and_the_second_is_told(
    artist: Person, instructor: Person, firing: Firing, signed_in
) -> None:
    one, other = signed_in(artist), signed_in(instructor)
    first, second = what_the_page_shows(one, firing), what_the_page_shows(other, firing)

    take(one, firing, first)
    response = other.post(reverse("firings:note_take", args=[firing.pk]), second, follow=True)

    assert NoteTaken.objects.count() == 1
    assert firing.revision.schedule.revisions.count() == 2
    assert "Inka took this note already: revision 2." in response.content.decode()


def test_a_schedule_that_moved_on_is_told(artist: Person, firing: Firing, signed_in) -> None:
    client = signed_in(artist)
    data = what_the_page_shows(client, firing)
    make_revision(firing.revision.schedule, reason="a rethink")

    response = client.post(reverse("firings:note_take", args=[firing.pk]), data, follow=True)

    assert not NoteTaken.objects.exists()
    assert "has made revision 2 meanwhile: “a rethink”" in response.content.decode()


def test_a_note_that_reads_differently_now_is_not_taken(
    artist: Person, firing: Firing, signed_in
) -> None:
    client = signed_in(artist)
    data = what_the_page_shows(client, firing)
    firing.load.update(verdict=1)

    response = client.post(reverse("firings:note_take", args=[firing.pk]), data, follow=True)

    assert not NoteTaken.objects.exists()
    assert "reads differently now" in response.content.decode()


def test_an_unchanged_note_is_not_taken(artist: Person) -> None:
    firing = short_firing(artist, make_revision(make_schedule(artist)), verdict=0)

    with pytest.raises(ValidationError, match="differently"):
        note_take(
            firing=firing,
            by=artist,
            studio=Studio.current(),
            newest_seen=1,
            size_seen="0.000 0",
        )


def test_moved_on_is_an_error_of_its_own(artist: Person, firing: Firing) -> None:
    make_revision(firing.revision.schedule)

    with pytest.raises(MovedOnError):
        note_take(
            firing=firing, by=artist, studio=Studio.current(), newest_seen=1, size_seen="1.000 0"
        )


@pytest.mark.parametrize("role", ["instructor", "keeper"])
def test_instructor_and_keeper_may_take_any_note(firing: Firing, signed_in, role: str) -> None:
    client = signed_in(make_person("someone", role=role))

    assert take(client, firing, what_the_page_shows(client, firing)).status_code == 302
    assert NoteTaken.objects.count() == 1


@pytest.mark.parametrize("role", ["artist", "student"])
def test_others_may_not_revise_the_schedule(firing: Firing, signed_in, role: str) -> None:
    client = signed_in(make_person("someone", role=role))

    response = take(client, firing, {"newest_seen": 1, "size_seen": "0.000 60"})

    assert response.status_code == 403
    assert not NoteTaken.objects.exists()


@pytest.mark.parametrize(
    "data",
    [{}, {"newest_seen": "one", "size_seen": "0.000 60"}, {"newest_seen": 1, "size_seen": "x"}],
)
def test_a_damaged_form_is_told_plainly(
    artist: Person, firing: Firing, signed_in, data: dict[str, object]
) -> None:
    response = signed_in(artist).post(
        reverse("firings:note_take", args=[firing.pk]), data, follow=True
    )

    assert response.status_code == 200
    assert "The note could not be read" in response.content.decode()
    assert not NoteTaken.objects.exists()


def test_wrong_method_missing_or_unopened_firing_and_outsider(
    artist: Person, firing: Firing, signed_in, outsider: Client
) -> None:
    client = signed_in(artist)
    address = reverse("firings:note_take", args=[firing.pk])
    planned = make_firing(artist, revision=firing.revision)

    assert client.get(address).status_code == 405
    assert client.post(reverse("firings:note_take", args=[99999])).status_code == 404
    assert client.post(reverse("firings:note_take", args=[planned.pk])).status_code == 404
    assert outsider.post(address).status_code == 302


@pytest.mark.django_db(transaction=True)
def test_two_at_the_same_moment_make_one_revision(artist: Person, firing: Firing) -> None:
    note = next_time_note(firing.revision.schedule, firing.kiln, Studio.current(), reader=None)

    def take_it(person: Person) -> int:
        try:
            return note_take(
                firing=firing,
                by=person,
                studio=Studio.current(),
                newest_seen=1,
                size_seen=note.size,
            ).revision_id
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        made = set(pool.map(take_it, [artist, artist]))

    assert len(made) == 1
    assert firing.revision.schedule.revisions.count() == 2
