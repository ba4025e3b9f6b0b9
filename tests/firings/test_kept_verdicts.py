"""How a kept firing came out can't be read from any advice, chart, count or forecast.

Each page is read twice, the kept piece first well short and then well past: for whoever may not see
it, not one letter may differ.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from firings.actions.forecasting import forecast_give
from firings.actions.tuning import note_take
from firings.models import Fault, Firing, Forecast, ForecastScore, LoadedPiece
from firings.queries.tuning import next_time_note
from schedules.models import Revision
from studio.models import Person, Studio
from tests.factories import (
    load_piece,
    make_class,
    make_firing,
    make_forecast,
    make_kiln,
    make_person,
    make_place,
    make_revision,
    make_schedule,
)

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)
NOW = START + timedelta(days=20)

SHUT_OUT = ("classmate", "artist", "other instructor")
LET_IN = ("firer", "instructor", "keeper")


@pytest.fixture(autouse=True)
def _at_one_moment() -> Iterator[None]:
    """Two readings of a page are of the same minute."""
    with time_machine.travel(NOW, tick=False):
        yield


@dataclass(frozen=True)
class Kept:
    """A schedule of a classmate's, fired four times; the third one is kept by the student."""

    people: dict[str, Person]
    revision: Revision
    firing: Firing
    open: list[Firing]

    def comes_out(self, verdict: int) -> None:
        LoadedPiece.objects.filter(firing=self.firing).update(verdict=verdict)
        forecast_give(schedule=self.revision.schedule, kiln=self.firing.kiln)
        ForecastScore.objects.filter(firing=self.firing).update(verdict=verdict)


@pytest.fixture
def kept(student: Person, artist: Person, instructor: Person, keeper: Person) -> Kept:
    classmate, other = make_person("mate", role="student"), make_person("jo", role="instructor")
    make_class(instructor, students=[student, classmate])
    make_class(other, students=[make_person("new", role="student")])
    kiln = make_kiln()
    make_kiln("Wren")
    place = make_place(kiln, is_reference=True)
    revision = make_revision(make_schedule(classmate), written_for=kiln)
    firings = []
    for number, verdict in enumerate((-2, -1, 2, -1)):
        start = START + timedelta(days=number)
        is_kept = number == 2
        firing = make_firing(
            student if is_kept else classmate,
            kiln=kiln,
            revision=revision,
            state="opened",
            started_at=start,
            opened_at=start + timedelta(hours=16),
            recorded_peak_c=800.0 + 2 * number,
            recorded_hold_s=600,
            is_private=is_kept,
        )
        load_piece(firing, verdict=verdict, judged_by=firing.fired_by, place=place)
        at = firing.opened_at + timedelta(hours=1)
        forecast_give(schedule=revision.schedule, kiln=kiln, at=at)
        firings.append(firing)
    people = {
        "firer": student,
        "classmate": classmate,
        "artist": artist,
        "instructor": instructor,
        "other instructor": other,
        "keeper": keeper,
    }
    (secret,) = (each for each in firings if each.is_private)
    return Kept(people, revision, secret, [each for each in firings if not each.is_private])


def pages_of(kept: Kept) -> dict[str, str]:
    schedule, kiln = kept.revision.schedule_id, kept.firing.kiln_id
    tuning = reverse("firings:schedule_tuning", args=[schedule])
    return {
        "tuning": tuning,
        "what if": f"{tuning}?peak=5&hold=0",
        "another firing": reverse("firings:firing_detail", args=[kept.open[-1].pk]),
        "the kept firing": reverse("firings:firing_detail", args=[kept.firing.pk]),
        "schedule": reverse("schedules:schedule_detail", args=[schedule]),
        "forecasts": reverse("firings:schedule_forecasts", args=[schedule]),
        "all forecasts": reverse("firings:advice_record"),
        "kiln": reverse("firings:kiln_history", args=[kiln]),
        "measured": reverse("firings:kiln_measured", args=[kiln]),
        "year": reverse("firings:year") + "?year=2026",
        "to another kiln": reverse("firings:revision_to_kiln", args=[schedule, 1])
        + f"?from_kiln={kiln}&to_kiln={kiln + 1}",
        "to review": reverse("firings:piece_review", args=[kept.open[-1].load.get().pk]),
    }


def read(browser: Client, address: str) -> str:
    """Without what is new on each page: the keys of its forms."""
    answer = browser.get(address)
    if answer.status_code == 403:
        return "not allowed"
    assert answer.status_code == 200, address
    return re.sub(r'(CSRFToken": |(csrfmiddlewaretoken|form_key)" value=)"[^"]*"', "", answer.text)


@pytest.mark.parametrize("who", SHUT_OUT)
def test_nothing_tells_others_how_it_came_out(who: str, kept: Kept, signed_in: Browser) -> None:
    browser = signed_in(kept.people[who])
    kept.comes_out(-2)
    short = {name: read(browser, address) for name, address in pages_of(kept).items()}
    kept.comes_out(2)
    Fault.objects.create(
        loaded_piece=kept.firing.load.get(), kind="stuck_wash", noted_by=kept.people["firer"]
    )

    for name, address in pages_of(kept).items():
        assert read(browser, address) == short[name], name


@pytest.mark.parametrize("who", LET_IN)
def test_it_counts_for_whom_it_is_shown_to(who: str, kept: Kept, signed_in: Browser) -> None:
    browser = signed_in(kept.people[who])
    kept.comes_out(-2)
    short = {name: read(browser, address) for name, address in pages_of(kept).items()}
    kept.comes_out(2)

    told = {
        name for name, address in pages_of(kept).items() if read(browser, address) != short[name]
    }

    always = {"tuning", "what if", "another firing", "the kept firing", "forecasts"}
    assert told >= always
    assert ("to review" in told) == (who != "firer")
    assert ("to another kiln" in told) == (who != "firer")


def test_the_list_shows_it_to_all_and_weighs_it_for_some(kept: Kept, signed_in: Browser) -> None:
    address = pages_of(kept)["tuning"]

    def row(who: str) -> tuple[int, bool, bool, int]:
        shown = signed_in(kept.people[who]).get(address).context
        (each,) = (one for one in shown["tuned"] if one.firing == kept.firing)
        return len(shown["tuned"]), each.is_kept, each.weight is not None, len(shown["tuning"].past)

    assert {row(who) for who in SHUT_OUT} == {(4, True, False, 3)}
    assert {row(who) for who in LET_IN} == {(4, False, True, 4)}


def test_a_forecast_that_everybody_reads_rests_on_what_everybody_sees(kept: Kept) -> None:
    for forecast in Forecast.objects.all():
        assert kept.firing not in {forecast.firing, *forecast.rests_on.all()}
    assert ForecastScore.objects.filter(firing=kept.firing).exists()


def test_a_forecast_that_rests_on_it_is_not_shown_to_others(kept: Kept, signed_in: Browser) -> None:
    """As one does that was given before the firing was kept."""
    Forecast.objects.all().delete()
    make_forecast(kept.firing, chance_now=0.31, chance_then=0.79)
    resting = make_forecast(kept.open[0], chance_now=0.32, chance_then=0.78)
    resting.rests_on.add(kept.firing)
    make_forecast(kept.open[1], chance_now=0.33, chance_then=0.77)
    address = pages_of(kept)["forecasts"]

    def seen(who: str) -> set[str]:
        text = read(signed_in(kept.people[who]), address)
        return {each for each in ("79", "78", "77") if f"{each} %" in text}

    assert [seen(who) for who in SHUT_OUT] == [{"77"}] * 3
    assert [seen(who) for who in LET_IN] == [{"77", "78", "79"}] * 3


def test_a_note_taken_by_one_who_sees_it_tells_others_the_change_alone(
    kept: Kept, signed_in: Browser
) -> None:
    kept.comes_out(-2)
    keeper, last = kept.people["keeper"], kept.open[-1]
    note = next_time_note(kept.revision.schedule, last.kiln, Studio.current(), reader=keeper)
    assert note.rests_on_kept
    page = reverse("firings:firing_detail", args=[last.pk])
    assert "The revision is seen by everybody." in read(signed_in(keeper), page)

    taken = note_take(
        firing=last, by=keeper, studio=Studio.current(), newest_seen=1, size_seen=note.size
    )

    assert "chance" not in taken.revision.reason
    chance = f"{round(100 * taken.forecast.chance_then)} %"
    assert chance in read(signed_in(keeper), page)
    others = read(signed_in(kept.people["classmate"]), page)
    assert "its forecast is not shown" in others
    assert chance not in others


def test_what_is_taken_is_what_its_taker_read(kept: Kept) -> None:
    """The schedule's owner may not see the kept one: it moves nothing of theirs."""
    classmate, last = kept.people["classmate"], kept.open[-1]
    kept.comes_out(2)
    note = next_time_note(kept.revision.schedule, last.kiln, Studio.current(), reader=classmate)
    assert not note.rests_on_kept
    assert note.advice.action == "change"

    taken = note_take(
        firing=last, by=classmate, studio=Studio.current(), newest_seen=1, size_seen=note.size
    )

    assert kept.firing not in taken.forecast.rests_on.all()
    assert "chance of “as wanted”" in taken.revision.reason
