import csv
import io
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from firings.models import Fault, Firing
from firings.queries.side_by_side import SideBySide
from studio.models import Person
from tests.factories import (
    load_piece,
    make_firing,
    make_kiln,
    make_person,
    make_place,
    make_revision,
    make_schedule,
)
from tests.firings.logger_files import recorded

ADDRESS = "/firings/side-by-side/"


def fired(person: Person, day: int, **overrides: object) -> Firing:
    start = datetime(2026, 3, day, 8, 0, tzinfo=UTC)
    return make_firing(
        person,
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=20),
        **overrides,
    )


@pytest.fixture
def artist_client(artist: Person, signed_in) -> Client:
    return signed_in(artist)


@pytest.fixture
def pair(artist: Person) -> tuple[Firing, Firing]:
    """Two repeats: one with a logger's file, 6 °C hotter at its top, one with its plan alone."""
    revision = make_revision(make_schedule(artist))
    first = fired(artist, 3, revision=revision, title="First tide")
    recorded(first, by=artist, hotter_c=6.0)
    second = fired(artist, 5, revision=revision, title="Second tide")
    load_piece(first, verdict=1, judged_by=artist)
    load_piece(second)
    return first, second


def laid(client: Client, *firings: Firing, **query: str) -> SideBySide:
    response = client.get(ADDRESS, {"firing": [each.pk for each in firings], **query})
    assert response.status_code == 200
    return response.context["page"]


def texts(page: SideBySide, name: str) -> list[str | None]:
    (row,) = [row for row in page.rows if row.name == name]
    return [cell.text for cell in row.cells]


def shown(client: Client, **query: object) -> str:
    return client.get(ADDRESS, query).content.decode()


def test_they_lie_in_the_order_of_firing_whatever_was_asked(
    artist_client: Client, pair: tuple[Firing, Firing]
) -> None:
    first, second = pair

    page = laid(artist_client, second, first)

    assert [(side.number, side.firing) for side in page.sides] == [(1, first), (2, second)]


def test_what_was_not_recorded_is_said_and_never_the_plan(
    artist_client: Client, pair: tuple[Firing, Firing]
) -> None:
    page = laid(artist_client, *pair)

    peak = texts(page, "peak_recorded")
    assert peak == ["810\u00a0°C", None]
    assert texts(page, "peak_planned") == ["804\u00a0°C", "804\u00a0°C"]
    assert texts(page, "soak_recorded")[1] is texts(page, "cooling_recorded")[1] is None
    assert texts(page, "verdict") == ["a touch far", "not judged yet"]
    assert [side.is_recorded for side in page.sides] == [True, False]
    html = shown(artist_client, firing=[each.pk for each in pair])
    assert 'data-name="2"><span class="soft">not recorded</span>' in html
    assert 'class="recorded"' in html
    assert 'class="planned middle"' in html


def test_what_is_the_same_in_all_is_said_once(
    artist_client: Client, pair: tuple[Firing, Firing]
) -> None:
    page = laid(artist_client, *pair)

    same, differing = {row.name for row in page.same}, {row.name for row in page.differing}
    assert {"kiln", "schedule", "revision", "peak_planned", "soak_planned"} <= same
    assert {"verdict", "peak_recorded"} <= differing
    assert {row.name for row in page.unknown} >= {"place", "glass", "opened"}


def test_only_what_differs_from_the_first_is_set_in_bold(
    artist: Person, artist_client: Client
) -> None:
    revision = make_revision(make_schedule(artist))
    three = [
        fired(artist, 3 + day, revision=revision, recorded_peak_c=peak)
        for day, peak in enumerate((804.0, 804.2, 808.0))
    ]

    page = laid(artist_client, *three)

    (row,) = [row for row in page.rows if row.name == "peak_recorded"]
    assert [cell.differs for cell in row.cells] == [False, False, True]
    assert "<strong>808 °C</strong>" in shown(artist_client, firing=[each.pk for each in three])


def test_heat_work_is_held_against_the_first_of_which_it_is_known(
    artist: Person, artist_client: Client
) -> None:
    """By peak alone: 804 °C against 804 °C is 1, and 8 °C more is about 1.3 (see heat_work)."""
    revision = make_revision(make_schedule(artist))
    unknown = fired(artist, 2, revision=revision)
    known = fired(artist, 3, revision=revision, recorded_peak_c=804.0)
    hotter = fired(artist, 4, revision=revision, recorded_peak_c=812.0)

    page = laid(artist_client, unknown, known, hotter)

    assert page.weighed_by == page.sides[1]
    missing, one, more = texts(page, "heat_work")
    assert (missing, one) == (None, "1.00")
    assert 1.2 < float(more or 0) < 1.5


def test_firings_of_one_plan_have_one_heat_work_however_the_schedule_is_named(
    artist: Person, artist_client: Client
) -> None:
    """Two schedules with the same segments and the same recording do the same to the glass."""
    kiln, family = make_kiln(), make_schedule(artist).family
    pair = [
        fired(
            artist,
            3 + day,
            kiln=kiln,
            recorded_peak_c=804.0,
            revision=make_revision(make_schedule(artist, name=name, family=family)),
        )
        for day, name in enumerate(("Coasters", "Trivets"))
    ]

    page = laid(artist_client, *pair)

    assert texts(page, "heat_work") == ["1.00", "1.00"]
    assert texts(page, "schedule") == ["Coasters", "Trivets"]


def test_between_kilns_it_says_whose_display_it_was(artist: Person, artist_client: Client) -> None:
    revision = make_revision(make_schedule(artist))
    pair = [
        fired(artist, 3, revision=revision, kiln=make_kiln("Heron")),
        fired(artist, 4, revision=revision, kiln=make_kiln("Wren", offset_c=12.0)),
    ]

    html = shown(artist_client, firing=[each.pk for each in pair])

    assert "Heron not measured, Wren +12 °C" in html
    assert "between these kilns it tells little" in html


def test_figures_come_in_the_readers_unit(pair: tuple[Firing, Firing], signed_in) -> None:
    page = laid(signed_in(make_person("finn", unit="F")), *pair)

    assert texts(page, "peak_planned")[0] == "1479\u00a0°F"
    assert page.drawings[0].temperature_ticks[0].label == "0 °F"


def test_curves_run_together_when_their_tops_are_reached_or_from_the_start(
    artist: Person, artist_client: Client
) -> None:
    slow = make_revision(make_schedule(artist), [("100", "804", 10), (None, "482", 60)])
    fast = make_revision(make_schedule(artist, name="Fast"), [("300", "804", 10)])
    pair = [fired(artist, 3, revision=slow), fired(artist, 4, revision=fast)]

    by_top = laid(artist_client, *pair)
    by_start = laid(artist_client, *pair, aligned="start")

    reached = [course.line.times[0] for course in (side.course("top") for side in by_top.sides)]
    assert reached[0] == pytest.approx(-784 / 100 * 3600)  # from 20 °C at 100 °C/h
    assert reached[1] == pytest.approx(-784 / 300 * 3600)
    begun = [side.course("start").line.times[0] for side in by_start.sides]
    assert begun == [0.0, 0.0]
    assert by_top.drawings[0].time_ticks[0].label.startswith("−")
    assert by_start.drawings[0].time_ticks[0].label == "0"


def test_an_address_cut_short_is_laid_by_the_top(
    artist_client: Client, pair: tuple[Firing, Firing]
) -> None:
    assert laid(artist_client, *pair, aligned="sta").drawings == laid(artist_client, *pair).drawings


def test_a_recording_is_laid_where_it_met_its_target(
    artist: Person, artist_client: Client, pair: tuple[Firing, Firing]
) -> None:
    """Its logger’s clock is 25 minutes off; it lies on the plan all the same."""
    first, second = pair
    late = fired(artist, 9, revision=first.revision)
    recorded(late, by=artist, clock=late.started_at + timedelta(minutes=25))

    page = laid(artist_client, second, late)

    tops = []
    for side in page.sides:
        line = side.course("top").line
        above = line.times[line.temperatures > 800.0]
        tops.append((float(above[0]), float(above[-1])))
    assert abs(tops[0][0] - tops[1][0]) < 300
    assert tops[0][0] <= 0 < tops[0][1]


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ({}, None),
        ({"firing": [""]}, None),
        ({"firing": ["{0}"]}, "One firing has nothing beside it"),
        ({"firing": ["{0}", "{0}"]}, "One firing has nothing beside it"),
        ({"firing": ["{0}", "9999"]}, "There is no firing “9999”"),
        ({"firing": ["{0}", "{1}", "the blue one"]}, "There is no firing “the” or “blue” or “one”"),
        ({"firing": ["{0}", "9" * 40]}, "There is no firing “9999"),
    ],
)
def test_wrong_choices_are_told_and_nothing_is_lost(
    artist_client: Client, pair: tuple[Firing, Firing], query: dict, told: str | None
) -> None:
    asked = {
        name: [each.format(*(firing.pk for firing in pair)) for each in value]
        if isinstance(value, list)
        else value
        for name, value in query.items()
    }

    response = artist_client.get(ADDRESS, asked)

    html = response.content.decode()
    assert response.status_code == 200
    assert "page" not in response.context
    if told is None:
        assert 'role="alert"' not in html
    else:
        assert told in html
    for firing in pair:
        ticked = f'value="{firing.pk}" checked' in html
        assert ticked == (str(firing.pk) in asked.get("firing", []))
    assert 'value="9999"' in html if "9999" in asked.get("firing", []) else True


def test_seven_are_too_many_and_stay_ticked(artist: Person, artist_client: Client) -> None:
    revision = make_revision(make_schedule(artist))
    seven = [fired(artist, 1 + day, revision=revision) for day in range(7)]

    html = shown(artist_client, firing=[each.pk for each in seven])

    assert "7 firings are too many to read side by side: leave six at most." in html
    assert html.count(" checked") == 7
    assert laid(artist_client, *seven[:6]).sides[5].number == 6


def test_numbers_may_be_written(artist_client: Client, pair: tuple[Firing, Firing]) -> None:
    first, second = pair

    response = artist_client.get(ADDRESS, {"firing": [str(first.pk), f"#{second.pk}, {first.pk}"]})

    assert [side.firing for side in response.context["page"].sides] == [first, second]


def test_others_of_the_schedule_are_offered(
    artist: Person, artist_client: Client, pair: tuple[Firing, Firing]
) -> None:
    third = fired(artist, 9, revision=pair[0].revision)
    fired(artist, 10, revision=make_revision(make_schedule(artist, name="Bowls")))
    make_firing(artist, revision=pair[0].revision, state="called_off")

    response = artist_client.get(ADDRESS, {"firing": [each.pk for each in pair]})

    assert [row.firing for row in response.context["others"]] == [third]


def test_faults_and_what_else_changed_are_told(
    artist: Person, artist_client: Client, pair: tuple[Firing, Firing]
) -> None:
    first, second = pair
    Fault.objects.create(loaded_piece=first.load.get(), kind="devitrification", noted_by=artist)
    Firing.objects.filter(pk=second.pk).update(
        also_changed=["mould", "nonsense"], also_changed_note="new paper"
    )
    second.load.update(place=make_place(second.kiln, "front left"))

    page = laid(artist_client, first, second)

    assert texts(page, "faults") == ["haze (devitrification) (plain)", None]
    assert texts(page, "also_changed") == ["nothing noted", "mould; new paper"]
    assert texts(page, "place") == [None, "front left"]


def test_where_no_glass_is_fired_nothing_of_glass_is_told(
    artist: Person, artist_client: Client
) -> None:
    clay = make_revision(make_schedule(artist, process="metal_clay", family=None))
    glass = make_revision(make_schedule(artist))
    two = [fired(artist, 3 + n, revision=clay, recorded_peak_c=804.0) for n in range(2)]
    other = fired(artist, 6, revision=glass, recorded_peak_c=804.0)

    of_clay, mixed = laid(artist_client, *two), laid(artist_client, *two, other)

    assert not {row.name for row in of_clay.rows} & {"heat_work", "soak_planned", "soak_recorded"}
    assert texts(mixed, "heat_work") == ["no glass", "no glass", "1.00"]


def test_what_is_only_planned_can_lie_beside_what_was_fired(
    artist: Person, artist_client: Client, pair: tuple[Firing, Firing]
) -> None:
    planned = make_firing(artist, revision=pair[0].revision)

    page = laid(artist_client, pair[0], planned)

    assert texts(page, "verdict") == ["a touch far", "planned"]
    assert texts(page, "heat_work") == ["1.00", None]


def test_numbers_on_the_lines_stand_apart(artist_client: Client, artist: Person) -> None:
    """Six repeats of one plan lie on one line; each number still has its place."""
    revision = make_revision(make_schedule(artist))
    six = [fired(artist, 1 + day, revision=revision) for day in range(6)]

    page = laid(artist_client, *six)

    for drawing in (*page.drawings, *page.top):
        places = [(course.tag.x, course.tag.y) for course in drawing.courses if course.tag]
        assert len(places) == 6
        for index, (x, y) in enumerate(places):
            assert drawing.left < x <= drawing.right
            assert drawing.top < y < drawing.bottom
            assert all(
                (x - other) ** 2 + (y - below) ** 2 > (2 * drawing.tag_radius) ** 2
                for other, below in places[:index]
            )


def test_lines_that_part_bear_their_numbers_where_they_part(
    artist: Person, artist_client: Client
) -> None:
    """About the top a 740 °C tack fuse stays 64 °C below a full fuse: no number touches both."""
    tack = make_revision(
        make_schedule(artist, name="Tack"), [("200", "740", 60), ("100", "400", 0)]
    )
    full = make_revision(
        make_schedule(artist, name="Full"), [("200", "804", 10), ("100", "400", 0)]
    )

    page = laid(artist_client, fired(artist, 3, revision=tack), fired(artist, 4, revision=full))

    for drawing in page.top:
        places = [(course.tag.x, course.tag.y) for course in drawing.courses if course.tag]
        (x, y), (other_x, other_y) = places
        assert (x - other_x) ** 2 + (y - other_y) ** 2 > (2 * drawing.tag_radius) ** 2


def test_the_table_comes_as_csv_with_units_in_its_names(
    artist: Person, pair: tuple[Firing, Firing], signed_in
) -> None:
    first, second = pair
    Firing.objects.filter(pk=second.pk).update(
        also_changed=["other"], also_changed_note="=HYPERLINK(1)"
    )
    client = signed_in(make_person("finn", unit="F"))

    response = client.get(f"{ADDRESS}side-by-side.csv", {"firing": [first.pk, second.pk]})

    table = list(csv.reader(io.StringIO(response.content.decode("utf-8-sig"))))
    rows = {row[0]: row[1:] for row in table}
    assert table[0] == ["figure", f"firing {first.pk}", f"firing {second.pk}"]
    assert rows["started"] == ["2026-03-03 08:00", "2026-03-05 08:00"]
    assert rows["planned peak (°F)"] == ["1479.2", "1479.2"]
    assert rows["planned hold there (min)"] == ["10.0", "10.0"]
    assert rows["recorded peak (°F)"][1] == ""
    assert rows["came out"] == ["a touch far", "not judged yet"]
    assert rows["what else changed"] == ["nothing noted", "something else; =HYPERLINK(1)"]
    assert "attachment" in response["Content-Disposition"]


def test_csv_of_wrong_choices_says_what_is_wrong(
    artist_client: Client, pair: tuple[Firing, Firing]
) -> None:
    response = artist_client.get(f"{ADDRESS}side-by-side.csv", {"firing": pair[0].pk})

    assert response.status_code == 400
    assert response.content.decode().startswith("One firing has nothing beside it")
    assert artist_client.post(f"{ADDRESS}side-by-side.csv").status_code == 405


def test_the_firing_page_leads_to_the_last_firing_of_its_schedule(
    artist: Person, artist_client: Client, pair: tuple[Firing, Firing]
) -> None:
    first, second = pair
    planned = make_firing(artist, revision=first.revision)
    fired(artist, 4, revision=make_revision(make_schedule(artist, name="Bowls")))

    def page_of(firing: Firing) -> str:
        return artist_client.get(reverse("firings:firing_detail", args=[firing.pk])).text

    assert f"{ADDRESS}?firing={first.pk}&amp;firing={second.pk}" in page_of(second)
    assert f"{ADDRESS}?firing={second.pk}&amp;firing={planned.pk}" in page_of(planned)
    assert ADDRESS not in page_of(first)


def test_a_piece_leads_to_its_firings(artist: Person, artist_client: Client) -> None:
    revision = make_revision(make_schedule(artist))
    firings = [fired(artist, 1 + day, revision=revision) for day in range(8)]
    piece = load_piece(firings[0]).piece
    once = artist_client.get(reverse("firings:piece_detail", args=[piece.pk])).text
    for firing in firings[1:]:
        load_piece(firing, piece=piece)

    often = artist_client.get(reverse("firings:piece_detail", args=[piece.pk])).text

    latest = "&amp;".join(f"firing={firing.pk}" for firing in firings[2:])
    assert ADDRESS not in once
    assert f"{ADDRESS}?{latest}" in often
    assert "Lay its last 6 firings side by side" in often


def test_the_logbook_lets_one_tick_them(artist_client: Client, pair: tuple[Firing, Firing]) -> None:
    page = artist_client.get("/logbook/").text
    one = artist_client.get("/logbook/", {"words": "First"}).text

    for firing in pair:
        assert f'name="firing" value="{firing.pk}" form="beside"' in page
    assert f'id="beside" method="get" action="{ADDRESS}"' in page
    assert 'name="firing"' not in one


def test_only_get_and_only_from_inside(artist_client: Client, outsider: Client) -> None:
    assert artist_client.post(ADDRESS).status_code == 405
    assert reverse("studio:sign_in") in outsider.get(ADDRESS)["Location"]


def test_query_count_stays(
    artist: Person, artist_client: Client, django_assert_num_queries, django_assert_max_num_queries
) -> None:
    def add(day: int) -> Firing:
        revision = make_revision(make_schedule(artist, name=f"Schedule {day}"))
        firing = fired(artist, day, kiln=make_kiln(f"Kiln {day}"), revision=revision)
        recorded(firing, by=artist, every_s=300.0)
        Fault.objects.create(loaded_piece=load_piece(firing), kind="split", noted_by=artist)
        return firing

    firings = [add(1), add(2)]
    artist_client.get(ADDRESS, {"firing": [each.pk for each in firings]})
    with django_assert_max_num_queries(40) as first:
        laid(artist_client, *firings)
    firings += [add(3), add(4), add(5), add(6)]
    with django_assert_num_queries(len(first.captured_queries)):
        laid(artist_client, *firings)
