"""What a kiln's recordings teach: learnt when they are taken, kept, used by plans, set aside."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from firings.actions.learning import LAST_RECORDINGS, kiln_learn
from firings.actions.record import firing_change
from firings.actions.recording import recording_take_back
from firings.core_inputs import curve_as_on_record, walls_of
from firings.models import Firing, RecordingSeries
from firings.queries import kiln_learnt
from firings.queries.energy import computed_energy, firings_for_energy
from firings.queries.plan import outlook_of
from firings.services.ageing import Trend
from firings.services.walls import Walls
from schedules.core_inputs import response_of
from studio.formats import plain
from studio.models import Kiln, LearntResponse, Person, ServiceEntry
from tests.factories import load_piece, make_firing, make_kiln, make_revision, make_schedule
from tests.firings.logger_files import recorded

TRUE = {
    "rise_at_700_c_per_h": 250.0,
    "full_power_limit_c": 1150.0,
    "cooling_constant_h": 2.8,
    "slow_cooling_constant_h": 5.6,
}
KEYED = {
    "rise_at_700_c_per_h": 380.0,
    "full_power_limit_c": 1250.0,
    "cooling_constant_h": 4.0,
    "slow_cooling_constant_h": 8.0,
}
SEGMENTS: list[tuple[str | None, str, int]] = [
    ("200", "540", 0),
    (None, "804", 10),
    (None, "482", 60),
]


def history_of(kiln: Kiln) -> str:
    return reverse("firings:kiln_history", args=[kiln.pk])


def learn_at(kiln: Kiln) -> str:
    return reverse("firings:kiln_learn", args=[kiln.pk])


def fired(kiln: Kiln, by: Person, day: int, rise: float = 250.0, **overrides: Any) -> Firing:
    """A recorded firing of what the kiln does by itself, while its record says otherwise."""
    start = datetime(2026, 3, 1, 18, 0, tzinfo=UTC) + timedelta(days=day)
    firing = make_firing(
        by,
        kiln=kiln,
        revision=overrides.pop("revision", None)
        or make_revision(make_schedule(by, name=f"Schedule {day}"), SEGMENTS),
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=30),
        **overrides,
    )
    Kiln.objects.filter(pk=kiln.pk).update(
        **TRUE | {"rise_at_700_c_per_h": rise}, use_learnt_response=False
    )
    recorded(Firing.objects.get(pk=firing.pk), by=by, every_s=120.0)
    Kiln.objects.filter(pk=kiln.pk).update(**KEYED, use_learnt_response=True)
    return firing


@pytest.fixture
def kiln(db: None) -> Kiln:
    return make_kiln("Heron", **KEYED)


@pytest.fixture
def taught(kiln: Kiln, artist: Person) -> Kiln:
    for day in range(3):
        fired(kiln, artist, day)
    kiln_learn(kiln=kiln)
    return Kiln.objects.get(pk=kiln.pk)


def test_recordings_teach_what_the_kiln_does(taught: Kiln) -> None:
    learnt = taught.learnt_response
    assert learnt.recordings == 3
    assert learnt.rise_at_700_c_per_h == pytest.approx(250.0, rel=0.05)
    assert learnt.cooling_constant_h == pytest.approx(2.8, rel=0.05)
    assert learnt.is_used
    assert response_of(taught).rise_at(700.0) == pytest.approx(learnt.rise_at_700_c_per_h)
    assert response_of(taught).covariance.shape == (4, 4)


def test_the_same_is_learnt_once_and_comes_out_the_same_afresh(taught: Kiln) -> None:
    first = taught.learnt_response
    assert kiln_learn(kiln=taught).learnt_at == first.learnt_at
    again = kiln_learn(kiln=taught, afresh=True)
    assert again.learnt_at > first.learnt_at
    assert again.rise_at_700_c_per_h == first.rise_at_700_c_per_h
    assert again.covariance == first.covariance


def test_set_aside_plans_keep_to_the_keyed_figures(taught: Kiln) -> None:
    taught.use_learnt_response = False
    assert response_of(taught).rise_at(700.0) == pytest.approx(380.0)
    assert response_of(taught).covariance is None


def test_learning_that_foretells_worse_is_kept_but_not_used(
    taught: Kiln, artist: Person, signed_in
) -> None:
    for firing in Firing.objects.filter(kiln=taught):
        as_keyed = curve_as_on_record(firing).duration
        RecordingSeries.objects.filter(pk=firing.pk).update(duration_s=as_keyed)
    assert not kiln_learn(kiln=taught).foretells
    kiln = Kiln.objects.get(pk=taught.pk)
    assert response_of(kiln).rise_at(700.0) == pytest.approx(380.0)
    page = signed_in(artist).get(history_of(kiln)).text
    assert "less well than the figures on record" in page


def test_new_elements_begin_a_new_count(taught: Kiln, artist: Person) -> None:
    entry = ServiceEntry.objects.create(
        kiln=taught, kind="elements", done_on=date(2026, 3, 3), written_by=artist
    )
    learnt = kiln_learn(kiln=Kiln.objects.get(pk=taught.pk))
    assert (learnt.recordings, learnt.since) == (1, date(2026, 3, 3))
    entry.done_on = date(2026, 3, 20)
    entry.save()
    assert kiln_learn(kiln=Kiln.objects.get(pk=taught.pk)) is None
    assert not LearntResponse.objects.exists()


def test_only_opened_firings_teach(kiln: Kiln, artist: Person) -> None:
    firing = fired(kiln, artist, 0)
    Firing.objects.filter(pk=firing.pk).update(state="firing", opened_at=None)
    assert kiln_learn(kiln=kiln) is None


def test_taking_and_taking_back_learn_anew(
    kiln: Kiln, artist: Person, django_capture_on_commit_callbacks
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        first = fired(kiln, artist, 0)
    with django_capture_on_commit_callbacks(execute=True):
        fired(kiln, artist, 1)
    assert LearntResponse.objects.get().recordings == 2
    with django_capture_on_commit_callbacks(execute=True):
        recording_take_back(file=first.recording_files.get())
    assert LearntResponse.objects.get().recordings == 1


def test_a_firing_moved_to_another_kiln_teaches_that_one(
    kiln: Kiln, artist: Person, django_capture_on_commit_callbacks
) -> None:
    wren = make_kiln("Wren")
    with django_capture_on_commit_callbacks(execute=True):
        firing = fired(kiln, artist, 0)
    assert LearntResponse.objects.get().kiln == kiln
    with django_capture_on_commit_callbacks(execute=True):
        firing_change(firing=firing, changes={"kiln": wren})
    assert LearntResponse.objects.get().kiln == wren


def test_what_goes_wrong_in_learning_spoils_no_taking(
    kiln: Kiln, artist: Person, django_capture_on_commit_callbacks, caplog
) -> None:
    firing = fired(kiln, artist, 0)
    RecordingSeries.objects.update(packed=b"no longer readable")
    with django_capture_on_commit_callbacks(execute=True):
        firing.save()
    assert not LearntResponse.objects.exists()
    assert "Error calling" in caplog.text


def test_the_last_recordings_count(taught: Kiln, artist: Person, monkeypatch) -> None:
    monkeypatch.setattr("firings.actions.learning.LAST_RECORDINGS", 2)
    assert LAST_RECORDINGS == 20
    assert kiln_learn(kiln=taught).recordings == 2


def test_pages_show_what_was_learnt_beside_what_was_keyed(
    taught: Kiln, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    client = signed_in(artist)
    page = client.get(history_of(taught)).text
    assert "From the last 3 recordings. Plans in this kiln use it." in page
    assert "380 °C/h" in page
    assert f"{taught.learnt_response.rise_at_700_c_per_h:.0f} °C/h" in page
    assert "Learn again" not in page
    facts = client.get(reverse("studio:kiln_detail", args=[taught.pk])).text
    assert "Learnt from 3 recordings; plans use it." in facts
    assert "The figures on record" in facts


def test_predictions_are_better_than_by_the_keyed_figures(taught: Kiln) -> None:
    durations = kiln_learnt.durations(taught)
    assert len(durations.rows) == 3
    assert abs(durations.median) < 0.03 < abs(durations.keyed_median)
    assert durations.lowest <= durations.median <= durations.highest


def test_keeper_learns_again_and_nobody_else(
    taught: Kiln, artist: Person, keeper: Person, signed_in, outsider: Client
) -> None:
    before = taught.learnt_response.learnt_at
    assert signed_in(artist).post(learn_at(taught)).status_code == 403
    assert outsider.post(learn_at(taught)).status_code == 302
    assert signed_in(keeper).get(learn_at(taught)).status_code == 405
    page = signed_in(keeper).post(learn_at(taught), follow=True).text
    assert "Learnt again from 3 recordings." in page
    assert LearntResponse.objects.get().learnt_at > before


def test_nothing_to_learn_from_is_said(kiln: Kiln, keeper: Person, signed_in) -> None:
    client = signed_in(keeper)
    assert "No logger’s file is taken for a firing in it yet" in client.get(history_of(kiln)).text
    page = client.post(learn_at(kiln), follow=True).text
    assert "No recording of Heron to learn from yet." in page


def test_keeper_sets_it_aside_on_the_kilns_form(taught: Kiln, keeper: Person, signed_in) -> None:
    address = reverse("studio:kiln_change", args=[taught.pk])
    client = signed_in(keeper)
    form = client.get(address).context["form"]
    sent = {
        name: form[name].value() for name in form.fields if form[name].value() not in (None, "")
    }
    del sent["use_learnt_response"]
    assert client.post(address, sent).status_code == 302
    assert not Kiln.objects.get(pk=taught.pk).use_learnt_response
    assert "It is set aside" in client.get(history_of(taught)).text
    assert "taught is not used" in client.get(reverse("studio:kiln_detail", args=[taught.pk])).text


def test_opening_has_a_range_where_a_response_was_learnt(
    taught: Kiln, artist: Person, signed_in
) -> None:
    firing = Firing.objects.filter(kiln=taught).latest("started_at")
    Firing.objects.filter(pk=firing.pk).update(state="firing", opened_at=None)
    page = signed_in(artist).get(reverse("firings:firing_detail", args=[firing.pk]))
    shown = page.context["page"]
    assert shown.opening.earliest_at < shown.opening.at < shown.opening.latest_at
    assert "nine of ten firings" in page.text
    start = datetime(2026, 4, 1, 18, 0, tzinfo=UTC)
    assert outlook_of(firing.revision, taught, "C", start).opening.is_learnt
    taught.use_learnt_response = False
    assert not outlook_of(firing.revision, taught, "C", start).opening.is_learnt


def test_ageing_is_said_once_it_is_real(
    kiln: Kiln, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    for day in range(8):
        fired(kiln, artist, 10 * day, rise=300.0 * 0.97**day)
    kiln_learn(kiln=kiln)
    seen = kiln_learnt.ageing(Kiln.objects.get(pk=kiln.pk))
    assert seen.trend.real
    assert seen.trend.change == pytest.approx(0.97**7 - 1, abs=0.03)
    assert seen.since == date(2026, 3, 1)
    page = signed_in(artist).get(history_of(kiln)).text
    assert "Full-power rise at 700 °C has fallen" in page
    assert "since March 2026" in page
    assert "a cold kiln with its supply isolated" in page


def test_a_steady_kiln_is_not_said_to_age(taught: Kiln, artist: Person, signed_in) -> None:
    assert kiln_learnt.ageing(taught) is None
    assert "Full-power rise" not in signed_in(artist).get(history_of(taught)).text


def test_drift_is_said_once_it_is_real(kiln: Kiln, artist: Person, signed_in) -> None:
    """The display reads the same each time, and the glass comes out ever farther."""
    revision = make_revision(make_schedule(artist), SEGMENTS)
    for number, verdict in enumerate([-2, -2, -2, -1, -1, 0, 0, 1, 1, 2, 2, 2]):
        start = datetime(2026, 3, 1, 18, 0, tzinfo=UTC) + timedelta(days=7 * number)
        firing = make_firing(
            artist,
            kiln=kiln,
            revision=revision,
            state="opened",
            started_at=start,
            opened_at=start + timedelta(hours=20),
            recorded_peak_c=804.0,
            recorded_hold_s=600,
        )
        load_piece(firing, verdict=verdict)
    seen = kiln_learnt.drift(kiln, None)
    assert seen.trend.real
    assert seen.trend.change > 15.0
    page = signed_in(artist).get(history_of(kiln)).text
    assert "the glass comes out as if" in page
    assert "hotter than it did, over 12 judged firings" in page


@pytest.mark.parametrize(
    ("change", "words"),
    [(-0.14, "has fallen 14 % since"), (0.08, "has risen 8 % since")],
)
def test_words_of_a_trend(change: float, words: str) -> None:
    trend = Trend(20500.0, 200.0, 9, change, change - 0.03, change + 0.03, change, True)
    seen = kiln_learnt.SeenTrend(trend)
    said = render_to_string("firings/_ageing.html", {"ageing": seen, "drift": None})
    assert words in plain(said)
    unreal = Trend(20500.0, 200.0, 9, change, -0.2, 0.2, change, False)
    said = render_to_string("firings/_ageing.html", {"ageing": kiln_learnt.SeenTrend(unreal)})
    assert "Full-power" not in said


def test_query_count_stays_with_learnt_kilns(
    taught: Kiln,
    artist: Person,
    signed_in,
    django_assert_num_queries,
    django_assert_max_num_queries,
) -> None:
    client = signed_in(artist)
    client.get(history_of(taught))
    with django_assert_max_num_queries(32) as first:
        client.get(history_of(taught))
    for day in range(5, 8):
        fired(taught, artist, day)
    with django_assert_num_queries(len(first.captured_queries)):
        client.get(history_of(taught))


def test_energy_is_computed_with_the_walls_that_were_learnt(taught: Kiln, artist: Person) -> None:
    learnt = kiln_learn(kiln=taught)
    assert learnt is not None
    walls = walls_of(Kiln.objects.get(pk=taught.pk))
    assert walls == Walls(**learnt.walls)
    firing = make_firing(artist, kiln=Kiln.objects.get(pk=taught.pk), state="firing")
    with_them = computed_energy(firings_for_energy().get(pk=firing.pk))
    Kiln.objects.filter(pk=taught.pk).update(use_learnt_response=False)
    assert walls_of(Kiln.objects.get(pk=taught.pk)) is None
    without = computed_energy(firings_for_energy().get(pk=firing.pk))
    assert with_them is not None
    assert without is not None
    assert with_them.use.relative_error < without.use.relative_error
