from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from firings.models import Fault, Firing
from firings.queries.logbook import firings_for_logbook
from studio.models import Person, Studio
from tests.factories import (
    load_piece,
    make_firing,
    make_kiln,
    make_person,
    make_revision,
    make_schedule,
)

ADDRESS = "/logbook/"


def found(client: Client, **query: str) -> list[Firing]:
    response = client.get(ADDRESS, query)
    assert response.status_code == 200
    return [row.firing for row in response.context["rows"]]


def opened_on(person: Person, day: int, **overrides: object) -> Firing:
    start = datetime(2026, 3, day, 18, 0, tzinfo=UTC)
    return make_firing(
        person,
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=16),
        **overrides,
    )


@pytest.fixture
def artist_client(artist: Person, signed_in) -> Client:
    return signed_in(artist)


def test_logbook_shows_the_newest_first(artist: Person, artist_client: Client) -> None:
    older, newer = opened_on(artist, 3), opened_on(artist, 9)

    assert found(artist_client) == [newer, older]


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL plans otherwise")
def test_newest_firings_are_read_by_their_index(db: None) -> None:
    assert "firings_newest_first" in firings_for_logbook()[:25].explain()


def test_logbook_writes_the_peak_in_the_readers_unit(artist: Person, signed_in) -> None:
    opened_on(artist, 3, recorded_peak_c=804.0)
    reader = make_person("finn", unit="F")

    assert "1479 °F" in signed_in(reader).get(ADDRESS).content.decode()


def test_logbook_only_answers_get(artist_client: Client) -> None:
    assert artist_client.post(ADDRESS).status_code == 405


def test_outsider_is_led_to_sign_in(outsider: Client, db: None) -> None:
    response = outsider.get(ADDRESS)

    assert response.status_code == 302
    assert reverse("studio:sign_in") in response["Location"]


def test_student_sees_what_others_fired(artist: Person, student: Person, signed_in) -> None:
    firing = opened_on(artist, 3)

    assert found(signed_in(student)) == [firing]


def test_empty_logbook_says_so(artist_client: Client) -> None:
    assert "No firing is written down yet" in artist_client.get(ADDRESS).content.decode()


def test_nothing_found_says_so(artist: Person, artist_client: Client) -> None:
    opened_on(artist, 3)

    assert "No firing fits" in artist_client.get(ADDRESS, {"words": "zebra"}).content.decode()


def test_not_judged_yet_never_reads_as_wanted(artist: Person, artist_client: Client) -> None:
    firing = opened_on(artist, 3)
    load_piece(firing)

    assert found(artist_client, verdict="none") == [firing]
    assert found(artist_client, verdict="0") == []
    assert "not judged yet" in artist_client.get(ADDRESS).content.decode()


def test_verdict_filter_finds_any_piece_of_the_load(artist: Person, artist_client: Client) -> None:
    firing = opened_on(artist, 3)
    load_piece(firing, verdict=0)
    load_piece(firing, verdict=-1)

    assert found(artist_client, verdict="-1") == [firing]
    assert found(artist_client, verdict="none") == []
    assert "others: a touch short" in artist_client.get(ADDRESS).content.decode()


def test_a_planned_firing_does_not_wait_for_a_verdict(
    artist: Person, artist_client: Client
) -> None:
    load_piece(make_firing(artist))

    assert found(artist_client, verdict="none") == []


def test_person_filter_finds_makers_too(
    artist: Person, student: Person, artist_client: Client
) -> None:
    firing = opened_on(artist, 3)
    load_piece(firing, maker=student)
    load_piece(firing, maker=student)
    opened_on(artist, 4)

    assert found(artist_client, person=str(student.pk)) == [firing]


def test_kiln_schedule_process_state_and_fault_narrow(
    artist: Person, artist_client: Client
) -> None:
    wren = make_kiln("Wren")
    slump = make_revision(make_schedule(artist, name="Bowl slump", process="slump"))
    firing = opened_on(artist, 3, kiln=wren, revision=slump)
    Fault.objects.create(loaded_piece=load_piece(firing), kind="split", noted_by=artist)
    make_firing(artist, kiln=make_kiln("Heron"))

    for query in (
        {"kiln": str(wren.pk)},
        {"schedule": str(slump.schedule_id)},
        {"process": "slump"},
        {"state": "opened"},
        {"fault": "split"},
    ):
        assert found(artist_client, **query) == [firing], query


def test_dates_are_days_of_the_studio(artist: Person, artist_client: Client) -> None:
    Studio.objects.update_or_create(pk=1, defaults={"time_zone": "Pacific/Auckland"})
    firing = opened_on(artist, 3)  # 18:00 UTC on the 3rd is the 4th in Auckland

    assert found(artist_client, since="2026-03-04", until="2026-03-04") == [firing]
    assert found(artist_client, until="2026-03-03") == []


@pytest.mark.parametrize(
    "words", ["tide", "TIDE Ravi", "heron blank", "sagged", "rim", "inka layers tide"]
)
def test_each_word_is_looked_for_everywhere(
    artist: Person, student: Person, artist_client: Client, words: str
) -> None:
    make_kiln("Heron")
    firing = opened_on(artist, 3, title="Third repeat", notes="The lid stood open.")
    load_piece(firing, title="Tide blank", maker=student, wanted="a soft rim", remarks="Sagged.")
    opened_on(artist, 4, title="Something else")

    assert found(artist_client, words=words) == [firing]


def test_every_word_must_occur(artist: Person, artist_client: Client) -> None:
    opened_on(artist, 3, title="Third repeat")

    assert found(artist_client, words="third zebra") == []


def test_words_find_capitals_beyond_plain_letters(artist: Person, artist_client: Client) -> None:
    firing = opened_on(artist, 3, title="Étang")

    assert found(artist_client, words="étang") == [firing]


def test_a_number_finds_the_firing(artist: Person, artist_client: Client) -> None:
    firing = opened_on(artist, 3)

    assert found(artist_client, words=f"#{firing.pk}") == [firing]


def test_orders(artist: Person, artist_client: Client) -> None:
    heron, wren = make_kiln("Heron"), make_kiln("Wren")
    first = opened_on(artist, 3, kiln=wren, recorded_peak_c=810.0)
    second = opened_on(artist, 4, kiln=heron, recorded_peak_c=700.0)
    third = opened_on(artist, 5, kiln=heron)

    assert found(artist_client, sort="oldest") == [first, second, third]
    assert found(artist_client, sort="kiln") == [third, second, first]
    assert found(artist_client, sort="peak") == [first, second, third]


def test_bad_filters_are_said_and_the_rest_is_kept(artist: Person, artist_client: Client) -> None:
    opened_on(artist, 3, title="Third repeat")
    response = artist_client.get(ADDRESS, {"since": "yesterday-ish", "words": "third", "kiln": "x"})

    assert set(response.context["filter"].form.errors) == {"since", "kiln"}
    assert len(response.context["rows"]) == 1
    assert "yesterday-ish" in response.content.decode()


def test_ticks_go_along_from_page_to_page(artist: Person, artist_client: Client) -> None:
    revision = make_revision(make_schedule(artist))
    made = [opened_on(artist, 3, revision=revision, title=f"no. {n}") for n in range(27)]
    first = artist_client.get(ADDRESS).context["rows"][0].firing
    response = artist_client.get(ADDRESS, {"firing": first.pk, "page": "2"})
    text = response.content.decode()
    assert f'value="{first.pk}" checked' in text
    assert "Ticked on other pages" in text
    assert 'type="hidden" name="firing"' not in text

    there = response.context["rows"][0].firing
    back = artist_client.get(ADDRESS, {"firing": [first.pk, there.pk], "page": "1"})
    assert [each.pk for each in back.context["ticked"].elsewhere] == [there.pk]
    assert f'value="{first.pk}" form="beside" checked' in back.content.decode()
    assert len(made) == back.context["page"].paginator.count


def test_pages_hold_25_and_keep_the_filter(artist: Person, artist_client: Client) -> None:
    revision = make_revision(make_schedule(artist))
    for _ in range(26):
        make_firing(artist, revision=revision, title="Third repeat")

    response = artist_client.get(ADDRESS, {"words": "third", "page": "2"})

    assert len(response.context["rows"]) == 1
    text = response.content.decode()
    assert '<input type="hidden" name="words" value="third">' in text
    assert 'formaction="/logbook/" name="page" value="1"' in text
    assert artist_client.get(ADDRESS, {"page": "nonsense"}).status_code == 200


def test_fragment_pushes_a_clean_address(artist: Person, artist_client: Client) -> None:
    opened_on(artist, 3)
    response = artist_client.get(
        ADDRESS, {"words": "", "state": "opened"}, headers={"HX-Request": "true"}
    )

    assert "<html" not in response.content.decode()
    assert response["HX-Push-Url"] == "/logbook/?state=opened"
    assert "HX-Request" in response["Vary"]


def test_history_restore_gets_the_whole_page(artist_client: Client) -> None:
    response = artist_client.get(
        ADDRESS, headers={"HX-Request": "true", "HX-History-Restore-Request": "true"}
    )

    assert "<html" in response.content.decode()


def test_query_count_stays(
    artist: Person, artist_client: Client, django_assert_num_queries, django_assert_max_num_queries
) -> None:
    def add() -> None:
        person = make_person(f"person{Firing.objects.count()}")
        firing = make_firing(
            person, kiln=make_kiln(f"Kiln {Firing.objects.count()}"), state="opened"
        )
        Fault.objects.create(loaded_piece=load_piece(firing), kind="split", noted_by=person)

    add()
    artist_client.get(ADDRESS)
    with django_assert_max_num_queries(15) as first:
        artist_client.get(ADDRESS)
    for _ in range(5):
        add()
    with django_assert_num_queries(len(first.captured_queries)):
        artist_client.get(ADDRESS)
