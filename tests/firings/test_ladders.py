"""Test series: made, planned, printed, judged in a row, and what the advice makes of them."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from io import BytesIO
from itertools import pairwise

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from firings.actions.ladder import (
    ladder_close,
    ladder_make,
    ladder_plan,
    rung_judge,
    rung_take,
)
from firings.actions.record import firing_call_off
from firings.advice_inputs import past_firings, sitting_of, situation_of
from firings.models import Booking, Firing, Ladder, LoadedPiece, Review
from firings.queries.clearing import newer_revision
from firings.queries.ladder_plan import LadderPlan, suggested
from firings.queries.tuning import firings_of_schedule, next_time_note
from firings.queries.tuning_page import tuning_of
from schedules.actions.revision import MovedOnError
from schedules.core_inputs import core_segments, written_segments
from schedules.models import Schedule
from studio.models import Kiln, Person, Studio
from studio.services.glass import Glass
from tests.factories import (
    load_piece,
    make_firing,
    make_glass,
    make_kiln,
    make_place,
    make_revision,
    make_schedule,
)

SignedIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db

PEAKS = LadderPlan("peak", Decimal(794), Decimal(7), 4)
HOLDS = LadderPlan("hold", Decimal(5), Decimal(10), 3)
GLASS = Glass()


@pytest.fixture
def kiln(db: None) -> Kiln:
    kiln = make_kiln()
    make_place(kiln, is_reference=True)
    return kiln


@pytest.fixture
def schedule(artist: Person, kiln: Kiln) -> Schedule:
    schedule = make_schedule(artist)
    make_revision(schedule, written_for=kiln)
    return schedule


def made(
    schedule: Schedule, kiln: Kiln, plan: LadderPlan = PEAKS, by: Person | None = None
) -> Ladder:
    return ladder_make(
        schedule=schedule,
        kiln=kiln,
        by=by or schedule.owner,
        studio=Studio.current(),
        plan=plan,
        name="opal tack",
        reason="The peak of the new opal",
        thickest_mm=6.0,
        place=kiln.places.first(),
        newest_seen=schedule.revisions.latest().number,
    )


def fired(ladder: Ladder, days_ago: int = 10, **facts: object) -> list[LoadedPiece]:
    """Its tiles, each opened a day after the one before."""
    tiles = []
    for rung in ladder.rungs.all():
        started_at = timezone.now() - timedelta(days=days_ago - rung.number, hours=18)
        firing = make_firing(
            ladder.made_by,
            kiln=ladder.kiln,
            revision=rung.revision,
            state="opened",
            started_at=started_at,
            opened_at=started_at + timedelta(hours=16),
            recorded_peak_c=core_segments(rung.revision)[2].target,
            recorded_hold_s=600,
            **facts,
        )
        rung.loaded = load_piece(firing, place=ladder.place, title=f"{ladder.name} {rung.number}")
        rung.save()
        tiles.append(rung.loaded)
    return tiles


def judged(ladder: Ladder, verdicts: tuple[int, ...], **facts: object) -> list[LoadedPiece]:
    tiles = fired(ladder, **facts)
    for loaded, verdict in zip(tiles, verdicts, strict=True):
        rung_judge(loaded=loaded, by=ladder.made_by, verdict=verdict, thickness_after_mm=None)
    return tiles


# Made


def test_each_rung_is_a_revision_and_the_schedule_stays_as_it_stood(
    schedule: Schedule, kiln: Kiln
) -> None:
    before = schedule.revisions.latest()
    ladder = made(schedule, kiln)
    rungs = list(ladder.rungs.select_related("revision"))
    assert [rung.revision.number for rung in rungs] == [2, 3, 4, 5]
    assert [written_segments(rung.revision)[2].target for rung in rungs] == [794, 801, 808, 815]
    for rung in rungs:
        others = written_segments(rung.revision)
        del others[2]
        assert others == [each for each in written_segments(before) if each.target != 804]
    newest = schedule.revisions.latest()
    assert newest.number == 6
    assert written_segments(newest) == written_segments(before)
    assert newest.reason.startswith("As revision 1")
    assert rungs[1].revision.reason == (
        "Rung 2 of 4 of the test series “opal tack”: 801 °C. The peak of the new opal"
    )


def test_a_ladder_of_holds_leaves_the_peak(schedule: Schedule, kiln: Kiln) -> None:
    ladder = made(schedule, kiln, HOLDS)
    tops = [written_segments(rung.revision)[2] for rung in ladder.rungs.all()]
    assert [(top.target, top.hold_minutes) for top in tops] == [(804, 5), (804, 15), (804, 25)]


def test_a_ladder_is_written_in_the_unit_of_its_schedule(artist: Person, kiln: Kiln) -> None:
    schedule = make_schedule(artist)
    make_revision(schedule, [("540", "1480", 10), (None, "900", 60)], unit="F")
    ladder = made(schedule, kiln, LadderPlan("peak", Decimal("1462.5"), Decimal(12), 3))
    written = [written_segments(rung.revision)[0].target for rung in ladder.rungs.all()]
    assert written == [Decimal("1462.5"), Decimal("1474.5"), Decimal("1486.5")]
    assert [rung.words for rung in ladder.rungs.all()] == [
        "1462.5\u00a0°F",
        "1474.5\u00a0°F",
        "1486.5\u00a0°F",
    ]


@pytest.mark.parametrize(
    ("plan", "told"),
    [
        (LadderPlan("peak", Decimal(940), Decimal(8), 4), "Rung 3: "),
        (LadderPlan("peak", Decimal(670), Decimal(7), 2), "another segment of the schedule"),
    ],
)
def test_a_rung_that_the_kiln_or_the_schedule_rules_out_makes_nothing(
    plan: LadderPlan, told: str, schedule: Schedule, kiln: Kiln
) -> None:
    with pytest.raises(ValidationError) as refused:
        made(schedule, kiln, plan)
    assert told in refused.value.message_dict["first"][0]
    assert not Ladder.objects.exists()
    assert schedule.revisions.count() == 1


def test_where_heat_work_says_nothing_there_is_no_series(artist: Person, kiln: Kiln) -> None:
    schedule = make_schedule(artist, process="anneal_only")
    make_revision(schedule, [("150", "540", 60), ("60", "370", 0)])
    with pytest.raises(ValidationError, match=r"would tell nothing here.*never moved by a note"):
        made(schedule, kiln, LadderPlan("peak", Decimal(530), Decimal(5), 2))


def test_who_was_too_slow_is_told(schedule: Schedule, kiln: Kiln) -> None:
    with pytest.raises(MovedOnError):
        ladder_make(
            schedule=schedule,
            kiln=kiln,
            by=schedule.owner,
            studio=Studio.current(),
            plan=PEAKS,
            name="late",
            reason="late",
            thickest_mm=6.0,
            newest_seen=7,
        )


# Planned

MORNING = (timezone.now() + timedelta(days=3)).replace(hour=8, minute=0, second=0, microsecond=0)


def test_each_rung_begins_once_the_kiln_can_be_opened(schedule: Schedule, kiln: Kiln) -> None:
    ladder = made(schedule, kiln)
    rungs = ladder_plan(ladder=ladder, by=schedule.owner, starts_at=MORNING)
    bookings = list(Booking.objects.order_by("starts_at"))
    assert bookings[0].starts_at == MORNING
    for before, after in pairwise(bookings):
        assert before.ends_at == after.starts_at
    tile = rungs[2].loaded
    assert tile is not None
    assert (tile.firing.title, tile.piece.title) == ("opal tack, rung 3", "opal tack 3")
    assert (tile.is_served, tile.thickest_mm, tile.place) == (True, 6.0, kiln.places.get())


def test_rungs_of_a_daily_series_begin_at_one_time_of_day(schedule: Schedule, kiln: Kiln) -> None:
    make_firing(
        schedule.owner,
        kiln=kiln,
        revision=schedule.revisions.latest(),
        planned_start=MORNING + timedelta(days=1, hours=2),
    )
    ladder = made(schedule, kiln)
    rungs = ladder_plan(ladder=ladder, by=schedule.owner, starts_at=MORNING, daily=True)
    starts = [rung.loaded.firing.planned_start for rung in rungs if rung.loaded is not None]
    local = [timezone.localtime(each) for each in starts if each is not None]
    assert {(each.hour, each.minute) for each in local} == {(MORNING.hour, 0)}
    assert len({each.date() for each in local}) == 4
    assert MORNING + timedelta(days=1) not in starts  # it would still be hot


def test_what_is_planned_already_is_not_planned_again(schedule: Schedule, kiln: Kiln) -> None:
    ladder = made(schedule, kiln)
    first = ladder_plan(ladder=ladder, by=schedule.owner, starts_at=MORNING)
    assert ladder_plan(ladder=ladder, by=schedule.owner, starts_at=MORNING) == []
    assert first[1].loaded is not None
    firing_call_off(firing=first[1].loaded.firing, by=schedule.owner)
    again = ladder_plan(ladder=ladder, by=schedule.owner, starts_at=MORNING)
    assert [rung.number for rung in again] == [2]


def test_a_closed_series_and_a_time_that_is_over_plan_nothing(
    schedule: Schedule, kiln: Kiln
) -> None:
    ladder = made(schedule, kiln)
    with pytest.raises(ValidationError, match="That is over"):
        ladder_plan(ladder=ladder, by=schedule.owner, starts_at=timezone.now() - timedelta(hours=2))
    ladder_close(ladder=ladder)
    with pytest.raises(ValidationError, match="closed"):
        ladder_plan(ladder=ladder, by=schedule.owner, starts_at=MORNING)
    assert not Firing.objects.exists()


def test_nobody_is_asked_to_fire_the_newest_instead_of_a_rung(
    schedule: Schedule, kiln: Kiln
) -> None:
    ladder = made(schedule, kiln)
    rungs = ladder_plan(ladder=ladder, by=schedule.owner, starts_at=MORNING)
    older = make_firing(schedule.owner, kiln=kiln, revision=schedule.revisions.last())
    assert rungs[0].loaded is not None
    assert newer_revision(rungs[0].loaded.firing) is None
    assert newer_revision(older) == schedule.revisions.latest()


# Judged


def test_verdicts_of_one_day_by_one_judge_were_given_at_one_sitting(
    schedule: Schedule, kiln: Kiln
) -> None:
    ladder = made(schedule, kiln)
    judged(ladder, (-1, 0, 0, 1))
    past = past_firings(firings_of_schedule(schedule, None), GLASS)
    assert len({one.sitting for one in past}) == 1
    assert past[0].sitting == (ladder.pk, schedule.owner.pk, timezone.localdate())
    note = next_time_note(schedule, kiln, Studio.current(), reader=None)
    assert [(each.ladder, each.count) for each in note.series] == [(ladder, 4)]


def test_verdicts_of_another_day_or_judge_stand_by_themselves(
    schedule: Schedule, kiln: Kiln, keeper: Person
) -> None:
    ladder = made(schedule, kiln)
    tiles = judged(ladder, (-1, 0, 0, 1))
    LoadedPiece.objects.filter(pk=tiles[0].pk).update(judged_at=timezone.now() - timedelta(days=2))
    Review.objects.create(loaded_piece=tiles[1], verdict=0, reviewed_by=keeper)
    past = past_firings(firings_of_schedule(schedule, None), GLASS)
    assert len({one.sitting for one in past}) == 3
    note = next_time_note(schedule, kiln, Studio.current(), reader=None)
    assert [each.count for each in note.series] == [2]


def test_a_verdict_given_again_beside_the_others_is_as_young_as_they(
    schedule: Schedule, kiln: Kiln
) -> None:
    ladder = made(schedule, kiln)
    tiles = judged(ladder, (-1, 0, 0, 1))
    LoadedPiece.objects.update(judged_at=timezone.now() - timedelta(days=5))
    rung_judge(loaded=tiles[1], by=schedule.owner, verdict=0, thickness_after_mm=None)
    assert sitting_of(LoadedPiece.objects.get(pk=tiles[1].pk))[2] == timezone.localdate()


def test_any_other_piece_has_no_sitting(schedule: Schedule, kiln: Kiln) -> None:
    firing = make_firing(
        schedule.owner, kiln=kiln, revision=schedule.revisions.latest(), state="opened"
    )
    assert sitting_of(load_piece(firing, verdict=0, judged_by=schedule.owner)) is None
    assert sitting_of(fired(made(schedule, kiln))[0]) is None  # not judged yet


def test_a_tile_is_not_what_a_schedule_is_tuned_by(schedule: Schedule, kiln: Kiln) -> None:
    piece = make_firing(
        schedule.owner,
        kiln=kiln,
        revision=schedule.revisions.latest(),
        state="opened",
        started_at=timezone.now() - timedelta(days=40),
    )
    load_piece(piece, thickest_mm=12.0)
    fired(made(schedule, kiln))
    LoadedPiece.objects.exclude(firing=piece).update(thickest_mm=3.0, thinnest_mm=3.0)
    firings = list(firings_of_schedule(schedule, None))
    newest = schedule.revisions.latest()
    assert situation_of(newest, kiln, firings=firings).thickness_class == 12.0
    assert situation_of(newest, kiln, firings=firings[1:]).thickness_class == 3.0


def test_a_fault_is_noted_once_and_never_taken_back(schedule: Schedule, kiln: Kiln) -> None:
    (tile, *_) = fired(made(schedule, kiln))
    for kinds in (["stuck"], ["stuck", "needles"], []):
        rung_judge(loaded=tile, by=schedule.owner, verdict=1, thickness_after_mm=4.0, faults=kinds)
    assert set(tile.faults.values_list("kind", flat=True)) == {"stuck", "needles"}
    tile.refresh_from_db()
    assert (tile.verdict, tile.thickness_after_mm) == (1, 4.0)


def test_a_rung_becomes_the_next_revision(schedule: Schedule, kiln: Kiln) -> None:
    ladder = made(schedule, kiln)
    judged(ladder, (-1, 0, 1, 2))
    rung = ladder.rungs.get(number=2)
    revision = rung_take(rung=rung, by=schedule.owner, newest_seen=6)
    assert revision.number == 7
    assert written_segments(revision) == written_segments(rung.revision)
    assert revision.reason == "Rung 2 of the test series “opal tack”, 801 °C: as wanted."
    with pytest.raises(MovedOnError):
        rung_take(rung=rung, by=schedule.owner, newest_seen=6)


# Pages


def make_page(schedule: Schedule, query: str = "") -> str:
    return reverse("firings:ladder_make", args=[schedule.pk]) + query


def form_of(schedule: Schedule, **changes: object) -> dict[str, object]:
    return {
        "first": "794",
        "step": "7",
        "count": "4",
        "name": "opal tack",
        "reason": "The peak of the new opal",
        "thickest_mm": "6",
        "newest_seen": schedule.revisions.latest().number,
    } | changes


def test_a_ladder_is_suggested_seen_and_made(
    schedule: Schedule, kiln: Kiln, artist: Person, signed_in: SignedIn
) -> None:
    browser = signed_in(artist)
    page = browser.get(make_page(schedule))
    tuning = tuning_of(schedule, studio=Studio.current(), reader=artist)
    thought = suggested(tuning, "peak")
    assert thought is not None
    for value in (thought.first, thought.step):
        assert f'value="{value.normalize():f}"' in page.content.decode()
    seen = browser.post(make_page(schedule), form_of(schedule, first="790,5", look="1"))
    text = seen.content.decode()
    assert "790.5 °C" in text
    assert "811.5 °C" in text
    assert not Ladder.objects.exists()
    answer = browser.post(make_page(schedule), form_of(schedule))
    ladder = Ladder.objects.get()
    assert answer.url == reverse("firings:ladder_detail", args=[ladder.pk])
    assert ladder.rungs.count() == 4
    page = browser.get(answer.url).content.decode()
    assert "794 °C" in page
    assert "not planned" in page


@pytest.mark.parametrize(
    ("query", "changes", "told"),
    [
        ("", {"first": "7940"}, "Between 20 °C and 1300 °C, please."),
        ("", {"step": "0"}, "Above 0 °C"),
        ("", {"step": "300"}, "The highest rung lies between 20 °C and 1300 °C, please."),
        ("", {"count": "13"}, "less than or equal to 12"),
        ("", {"first": "hot"}, "Enter a number."),
        ("", {"first": "940"}, "Rung 3: "),
        ("?varies=hold", {"first": "2.5"}, "A hold is a whole number of minutes."),
        ("?varies=hold", {"first": "-5"}, "Between 0 min and 14400 min, please."),
        ("", {"newest_seen": "9"}, "The ladder now begins from that one."),
    ],
)
def test_wrong_input_is_told_and_nothing_typed_is_lost(
    query: str,
    changes: dict[str, str],
    told: str,
    schedule: Schedule,
    kiln: Kiln,
    artist: Person,
    signed_in: SignedIn,
) -> None:
    page = signed_in(artist).post(make_page(schedule, query), form_of(schedule, **changes))
    text = page.content.decode()
    assert told in text
    assert 'value="opal tack"' in text
    for value in changes.values():
        assert f'value="{value}"' in text or "newest_seen" in changes
    assert not Ladder.objects.exists()


def test_firings_are_planned_from_the_page(
    schedule: Schedule, kiln: Kiln, artist: Person, signed_in: SignedIn
) -> None:
    ladder, browser = made(schedule, kiln), signed_in(artist)
    address = reverse("firings:ladder_plan", args=[ladder.pk])
    over = browser.post(address, {"starts_at": "2020-01-01T09:00"})
    assert "That is over" in over.content.decode()
    browser.post(address, {"starts_at": f"{MORNING:%Y-%m-%dT%H:%M}", "daily": "on"})
    assert Firing.objects.filter(state="planned").count() == 4


def picture() -> SimpleUploadedFile:
    file = BytesIO()
    Image.new("RGB", (64, 48), "teal").save(file, "JPEG")
    return SimpleUploadedFile("tile.jpg", file.getvalue(), "image/jpeg")


def test_a_tile_is_judged_by_its_row(
    schedule: Schedule, kiln: Kiln, artist: Person, signed_in: SignedIn
) -> None:
    ladder = made(schedule, kiln)
    tile = fired(ladder)[1]
    address = reverse("firings:rung_judge", args=[ladder.rungs.get(number=2).pk])
    sent = {"verdict": "0", "thickness_after_mm": "4,5", "faults": ["needles"]}
    browser = signed_in(artist)
    answer = browser.post(address, sent | {"photographs": picture()})
    assert answer.url == reverse("firings:ladder_detail", args=[ladder.pk]) + "#rung-2"
    tile.refresh_from_db()
    assert (tile.verdict, tile.thickness_after_mm, tile.judged_by) == (0, 4.5, artist)
    assert tile.photographs.count() == tile.faults.count() == 1
    page = browser.get(answer.url).content.decode()
    assert "801 °C · as wanted" in " ".join(page.split()).replace("</span>", "").replace(
        '<span class="number">', ""
    )


def test_a_device_that_kept_a_verdict_is_told_that_it_was_taken(
    schedule: Schedule, kiln: Kiln, artist: Person, signed_in: SignedIn
) -> None:
    ladder = made(schedule, kiln)
    tile = fired(ladder)[0]
    noted = timezone.now() - timedelta(hours=3)
    address = reverse("firings:rung_judge", args=[ladder.rungs.get(number=1).pk])
    sent = {
        "verdict": "-1",
        "noted_by": artist.pk,
        "noted_at": noted.isoformat(),
        "sent_at": timezone.now().isoformat(),
    }
    browser = signed_in(artist)
    assert browser.post(address, sent).status_code == 201
    tile.refresh_from_db()
    assert tile.judged_at is not None
    assert abs(tile.judged_at - noted) < timedelta(minutes=1)
    refused = browser.post(address, sent | {"thickness_after_mm": "0.1"})
    assert refused.status_code == 422


def test_a_tile_still_in_the_kiln_is_not_judged(
    schedule: Schedule, kiln: Kiln, artist: Person, signed_in: SignedIn
) -> None:
    ladder = made(schedule, kiln)
    ladder_plan(ladder=ladder, by=artist, starts_at=MORNING)
    address = reverse("firings:rung_judge", args=[ladder.rungs.get(number=1).pk])
    browser = signed_in(artist)
    assert "once its kiln was opened" in browser.get(address).content.decode()
    browser.post(address, {"verdict": "0"})
    assert not LoadedPiece.objects.filter(verdict__isnull=False).exists()


def test_labels_lead_to_their_rungs(
    schedule: Schedule, kiln: Kiln, artist: Person, signed_in: SignedIn
) -> None:
    ladder, browser = made(schedule, kiln), signed_in(artist)
    Ladder.objects.update(glass=make_glass(colour="opal white"))
    rung = ladder.rungs.get(number=3)
    page = browser.get(reverse("firings:ladder_labels", args=[ladder.pk])).content.decode()
    address = reverse("firings:rung_code", args=[rung.code])
    for words in ("opal tack 3", "rung 3 of 4: 808 °C", "opal white", "Heron, centre", address):
        assert words in page
    assert browser.get(address).url.endswith(f"/series/{ladder.pk}/#rung-3")


def test_what_is_kept_is_not_told(
    schedule: Schedule, kiln: Kiln, artist: Person, student: Person, signed_in: SignedIn
) -> None:
    ladder = made(schedule, kiln)
    judged(ladder, (-2, -2, -2, -2), is_private=True)
    address = reverse("firings:ladder_detail", args=[ladder.pk])
    assert "well short" in signed_in(artist).get(address).content.decode()
    other = signed_in(student).get(address).content.decode()
    assert "well short" not in other
    assert other.count(">kept<") == 4


def test_a_series_is_found_from_its_schedule_its_tuning_and_its_firing(
    schedule: Schedule, kiln: Kiln, artist: Person, signed_in: SignedIn
) -> None:
    ladder, browser = made(schedule, kiln), signed_in(artist)
    tiles = judged(ladder, (-1, 0, 0, 1))
    address = reverse("firings:ladder_detail", args=[ladder.pk])
    for page in (
        reverse("schedules:schedule_detail", args=[schedule.pk]),
        reverse("firings:schedule_tuning", args=[schedule.pk]),
        reverse("firings:firing_detail", args=[tiles[0].firing_id]),
        reverse("firings:ladder_list"),
    ):
        assert address in browser.get(page).content.decode(), page
    tuning = browser.get(reverse("firings:schedule_tuning", args=[schedule.pk])).content.decode()
    assert "test series of 4" in tuning


def test_more_rungs_ask_the_database_no_more(
    schedule: Schedule, kiln: Kiln, artist: Person, signed_in: SignedIn
) -> None:
    browser, counts = signed_in(artist), []
    for count in (2, 6):
        plan = LadderPlan("peak", Decimal(780), Decimal(5), count)
        ladder = made(schedule, kiln, plan)
        judged(ladder, (0,) * count)
        with CaptureQueriesContext(
            connection,
        ) as asked:
            browser.get(reverse("firings:ladder_detail", args=[ladder.pk]))
        listed = reverse("firings:ladder_list")
        with CaptureQueriesContext(connection) as asked_of_list:
            browser.get(listed)
        counts.append((len(asked), len(asked_of_list)))
    assert counts[0] == counts[1]
