"""Each next-time note is kept as it was given, and scored by the firing that came after."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse

from firings.actions.forecasting import forecast_give
from firings.actions.judging import fault_add, piece_judge
from firings.actions.tuning import note_take
from firings.models import FiredAs, Firing, Forecast, ForecastScore
from firings.queries.tuning import next_time_note
from schedules.models import Revision
from studio.models import Kiln, Person, Studio
from tests.factories import (
    load_piece,
    make_firing,
    make_kiln,
    make_revision,
    make_schedule,
)

NO_FAULT = {"fault-severity": "2", "fault-seen_on": "2026-03-04"}
START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)


def fired(revision: Revision, day: int, verdict: int | None = -1, **overrides: object) -> Firing:
    """Fired on a day of March as it was keyed, and opened on the next."""
    start = START + timedelta(days=day)
    person = revision.made_by
    known: dict[str, object] = {"recorded_peak_c": 804.0, "recorded_hold_s": 600}
    firing = make_firing(
        person,
        revision=revision,
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=16),
        **known | overrides,
    )
    load_piece(firing, verdict=verdict, judged_by=None if verdict is None else person)
    return firing


def give(firing: Firing, days: float = 0.75) -> Forecast:
    """The note as it stood some hours after a firing's start, by default once it was opened."""
    forecast = forecast_give(
        schedule=firing.revision.schedule,
        kiln=Kiln.objects.prefetch_related("service_entries").get(pk=firing.kiln_id),
        at=firing.started_at + timedelta(days=days),
    )
    assert forecast is not None
    return forecast


@pytest.fixture
def revision(artist: Person) -> Revision:
    make_kiln()
    return make_revision(make_schedule(artist))


def changed(revision: Revision, forecast: Forecast) -> Revision:
    """The next revision, with what a forecast advised at its top."""
    segments = [
        [None if each.rate is None else str(each.rate), float(each.target), each.hold_minutes]
        for each in revision.segments.all()
    ]
    segments[2][1] += forecast.peak_delta_c
    segments[2][2] += round(forecast.hold_delta_s / 60)
    rows = [(rate, str(target), hold) for rate, target, hold in segments]
    return make_revision(revision.schedule, rows)


@pytest.mark.django_db(transaction=True)
def test_a_verdict_saved_on_the_page_brings_a_forecast(
    artist: Person, signed_in, revision: Revision
) -> None:
    firing = fired(revision, 0, verdict=None)
    client: Client = signed_in(artist)
    address = reverse("firings:piece_judge", args=[firing.load.get().pk])
    page = client.get(address)

    client.post(address, {"verdict": -2, "form_key": page.context["form_key"]} | NO_FAULT)

    forecast = Forecast.objects.get()
    assert (forecast.firing, forecast.revision, forecast.kiln) == (firing, revision, firing.kiln)
    assert forecast.action == "change"
    assert len(forecast.chances_now) == len(forecast.chances_then) == 5
    assert sum(forecast.chances_then) == pytest.approx(1.0)
    assert list(forecast.rests_on.all()) == [firing]


def test_reading_pages_gives_none(artist: Person, signed_in, revision: Revision) -> None:
    firing = fired(revision, 0)
    client = signed_in(artist)

    client.get(reverse("firings:firing_detail", args=[firing.pk]))
    client.get(reverse("schedules:schedule_detail", args=[revision.schedule_id]))

    assert not Forecast.objects.exists()


def test_the_ledger_keeps_each_and_the_same_past_gives_no_second(revision: Revision) -> None:
    first = give(fired(revision, 0))
    again = give(Firing.objects.get(), days=1)
    second = give(fired(revision, 2))

    assert again == first
    assert list(Forecast.objects.all()) == [second, first]
    assert second.rests_on.count() == 2


def test_a_fault_seen_later_brings_another(artist: Person, revision: Revision) -> None:
    firing = fired(revision, 0)
    first = give(firing)
    fault_add(
        loaded=firing.load.get(),
        by=artist,
        kind="crack_rounded",
        severity=3,
        seen_on=START.date(),
    )

    second = give(firing, days=2)

    assert second != first
    assert second.action == "look_elsewhere"


@pytest.mark.django_db(transaction=True)
def test_many_savings_of_one_firing_are_followed_once(artist: Person, revision: Revision) -> None:
    firing = fired(revision, 0, verdict=None)

    with transaction.atomic():
        loaded = piece_judge(loaded=firing.load.get(), by=artist, verdict=-1)
        fault_add(loaded=loaded, by=artist, kind="stuck", severity=2, seen_on=START.date())
        firing.save()
        waiting = [callback.__qualname__ for _, callback, _ in connection.run_on_commit]

    assert sum("forecast_give" in name for name in waiting) == 1
    assert Forecast.objects.get().action == "look_elsewhere"  # with the fault in it


def test_a_firing_that_is_not_opened_is_not_followed(
    artist: Person, revision: Revision, django_capture_on_commit_callbacks
) -> None:
    with django_capture_on_commit_callbacks() as callbacks:
        load_piece(make_firing(artist, revision=revision))

    assert callbacks == []


def test_the_change_it_advised_is_scored_with_the_chance_then(revision: Revision) -> None:
    forecast = give(fired(revision, 0, verdict=-2))
    top = {
        "recorded_peak_c": 804.0 + forecast.peak_delta_c,
        "recorded_hold_s": 600 + round(forecast.hold_delta_s),
    }
    give(fired(changed(revision, forecast), 2, verdict=0, **top))

    score = ForecastScore.objects.get()
    assert (score.forecast, score.fired, score.came) == (forecast, FiredAs.AS_ADVISED, True)
    assert score.chance == forecast.chance_then > forecast.chance_now
    assert score.chances == forecast.chances_then


def test_unchanged_it_is_scored_with_the_chance_as_it_stood(revision: Revision) -> None:
    forecast = give(fired(revision, 0, verdict=-2))
    give(fired(revision, 2, verdict=-1))

    score = ForecastScore.objects.get()
    assert (score.fired, score.came) == (FiredAs.AS_IT_STOOD, False)
    assert score.chance == forecast.chance_now


def test_keyed_as_advised_without_a_new_revision_counts_as_followed(revision: Revision) -> None:
    forecast = give(fired(revision, 0, verdict=-2))
    firing = fired(revision, 2, verdict=0, recorded_peak_c=None, recorded_hold_s=None)
    if forecast.peak_delta_c:
        firing.keyed_differences.create(
            position=3, part="target", value=804 + forecast.peak_delta_c
        )
    else:
        firing.keyed_differences.create(
            position=3, part="hold", value=10 + forecast.hold_delta_s / 60
        )
    give(firing)

    assert ForecastScore.objects.get().fired == FiredAs.AS_ADVISED


def test_something_else_is_not_followed_and_not_scored(revision: Revision) -> None:
    forecast = give(fired(revision, 0, verdict=-2))
    firing = fired(revision, 2, verdict=0, recorded_peak_c=None, recorded_hold_s=None)
    firing.keyed_differences.create(position=1, part="rate", value=100)
    give(firing)

    score = forecast.scores.get()
    assert (score.fired, score.chance, score.chances) == (FiredAs.OTHERWISE, None, [])


@pytest.mark.parametrize(
    ("overrides", "event", "fired_as"),
    [
        ({"recorded_peak_c": 790.0}, None, FiredAs.MISSED),
        ({}, "stopped_early", FiredAs.BROKEN_OFF),
        ({}, "power_cut", FiredAs.BROKEN_OFF),
    ],
)
def test_a_firing_that_went_wrong_scores_nothing(
    artist: Person,
    revision: Revision,
    overrides: dict[str, object],
    event: str | None,
    fired_as: FiredAs,
) -> None:
    forecast = give(fired(revision, 0))
    firing = fired(revision, 2, **overrides)
    if event:
        firing.events.create(kind=event, noted_by=artist)
    give(firing)

    score = forecast.scores.get()
    assert (score.fired, score.chance) == (fired_as, None)


def test_what_looks_elsewhere_is_not_scored(revision: Revision) -> None:
    cracked = fired(revision, 0)
    cracked.load.get().faults.create(
        kind="crack_sharp", severity=3, noted_by=revision.made_by, seen_on=START.date()
    )
    forecast = give(cracked)
    give(fired(revision, 2, verdict=0))

    assert forecast.action == "look_elsewhere"
    assert forecast.scores.get().chance is None


def test_a_corrected_verdict_scores_anew_and_one_taken_back_scores_nothing(
    artist: Person, revision: Revision
) -> None:
    give(fired(revision, 0))
    firing = fired(revision, 2, verdict=0)
    give(firing)
    loaded = firing.load.get()

    piece_judge(loaded=loaded, by=artist, verdict=1)
    give(firing, days=2)
    assert ForecastScore.objects.get().verdict == 1

    piece_judge(loaded=loaded, by=artist, verdict=None)
    give(firing, days=3)
    assert not ForecastScore.objects.exists()


def test_only_what_was_given_before_the_start_is_scored(revision: Revision) -> None:
    """A firing that is noted late has no forecast that it could have followed."""
    early = fired(revision, 0)
    give(early, days=5)
    late = fired(revision, 2, verdict=0)
    give(late, days=5)

    assert not ForecastScore.objects.exists()


def test_a_forecast_that_rests_on_a_firing_foretells_nothing_of_it(revision: Revision) -> None:
    before = give(fired(revision, 0))
    firing = fired(revision, 2, verdict=0)
    give(firing)
    Firing.objects.filter(pk=firing.pk).update(  # a start that was noted wrong
        started_at=START + timedelta(days=20), opened_at=START + timedelta(days=21)
    )
    give(Firing.objects.get(pk=firing.pk), days=1)

    assert ForecastScore.objects.get(firing=firing).forecast == before


def test_each_kiln_has_its_own_ledger(revision: Revision) -> None:
    give(fired(revision, 0))
    wren = make_kiln("Wren")
    give(fired(revision, 2, verdict=0, kiln=wren))

    assert Forecast.objects.filter(kiln=wren).count() == 1
    assert not ForecastScore.objects.exists()


def test_a_forecast_knows_no_later_service(revision: Revision) -> None:
    """Given for a day in the past, it is as it would have been given then."""
    firing = fired(revision, 0)
    firing.kiln.service_entries.create(
        kind="thermocouple", done_on=START.date() + timedelta(days=9), written_by=revision.made_by
    )
    then = give(firing)
    now = forecast_give(schedule=revision.schedule, kiln=firing.kiln)
    assert now == then  # nothing else was seen

    after = next_time_note(revision.schedule, Kiln.objects.get(), Studio.current(), reader=None)

    assert then.chance_now != pytest.approx(after.advice.chance_now, abs=1e-6)


def test_taking_the_note_keeps_the_forecast_that_stands(artist: Person, revision: Revision) -> None:
    firing = fired(revision, 0, verdict=-2)
    standing = give(firing)
    note = next_time_note(revision.schedule, firing.kiln, Studio.current(), reader=None)

    taken = note_take(
        firing=firing, by=artist, studio=Studio.current(), newest_seen=1, size_seen=note.size
    )

    assert taken.forecast == standing
    assert Forecast.objects.count() == 1


def test_a_note_that_reads_otherwise_by_another_kiln_is_kept_when_it_is_taken(
    artist: Person, revision: Revision
) -> None:
    firing = fired(revision, 0, verdict=-2)
    standing = give(firing)
    fired(revision, 2, verdict=-2, kiln=make_kiln("Wren"))
    note = next_time_note(revision.schedule, firing.kiln, Studio.current(), reader=None)

    taken = note_take(
        firing=firing, by=artist, studio=Studio.current(), newest_seen=1, size_seen=note.size
    )

    assert taken.forecast != standing
    assert taken.forecast.chance_then == pytest.approx(note.advice.chance_then)
