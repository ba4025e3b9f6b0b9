import uuid
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from schedules.models import Revision
from studio.models import Kiln, Person
from tests.factories import load_piece, make_firing, make_kiln, make_revision, make_schedule

SignIn = Callable[[Person], Client]

TILES: dict[str, Any] = {
    "offset_evidence": "three witness tiles at 804 °C",
    "offset_measured_on": date(2026, 3, 2),
}


@pytest.fixture
def heron(db: None) -> Kiln:
    return make_kiln("Heron", **TILES)


@pytest.fixture
def wren(db: None) -> Kiln:
    return make_kiln("Wren", offset_c=12.0, **TILES)


@pytest.fixture
def first(artist: Person, heron: Kiln) -> Revision:
    return make_revision(make_schedule(artist), written_for=heron)


def url(revision: Revision) -> str:
    return reverse("firings:revision_to_kiln", args=[revision.schedule_id, revision.number])


def to(kiln: Kiln, source: Kiln, **more: str) -> dict[str, str]:
    return {"from_kiln": str(source.pk), "to_kiln": str(kiln.pk)} | more


def text_of(response: Any) -> str:
    return " ".join(response.content.decode().split())


def sent_from(response: Any, asked: dict[str, str], **overrides: str) -> dict[str, str]:
    """What the page's own form would send."""
    return (
        asked
        | {
            "seen": response.context["moved"].seen,
            "newest_seen": str(response.context["newest_seen"]),
            "reason": response.context["moved"].reason,
        }
        | overrides
    )


def targets(revision: Revision) -> list[float]:
    return [float(row.target) for row in revision.segments.all()]


def test_page_opens_with_the_kiln_that_it_is_written_for(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    response = signed_in(artist).get(url(first))
    assert response.status_code == 200
    assert response.context["asked"]["from_kiln"].value() == heron.pk
    assert response.context["moved"] is None
    assert not response.context["asked"].errors


def test_schedule_of_no_kiln_comes_from_where_it_was_fired_last(
    wren: Kiln, heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    revision = make_revision(make_schedule(artist))
    make_firing(artist, revision=revision, kiln=wren, state="opened")
    assert signed_in(artist).get(url(revision)).context["asked"]["from_kiln"].value() == wren.pk


def test_kiln_12_hot_is_keyed_792_for_804(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    response = signed_in(artist).get(url(first), to(wren, heron))
    text = text_of(response)
    assert "Key 792 °C for 804 °C" in text
    assert "Wren runs 12 °C ± 4 °C hotter" in text
    assert "about 1.5 times the heat work" in text
    assert "The anneal soak stays: <strong>unproven here</strong>" in text
    assert text.count("three witness tiles at 804 °C, 2 Mar 2026") == 2
    moved = response.context["moved"]
    assert moved.is_proven
    assert moved.advice.chance_now is not None


def test_an_offset_that_nobody_measured_is_said_to_be_unproven(
    first: Revision, heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    finch = make_kiln("Finch", offset_c=6.0)
    response = signed_in(artist).get(url(first), to(finch, heron))
    assert not response.context["moved"].is_proven
    text = text_of(response)
    assert "<strong>unproven</strong>: the offset of Finch was never measured" in text
    assert "(unproven)" in response.context["moved"].reason


def test_thermocouples_are_compared_by_their_class(
    first: Revision, heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    finch = make_kiln("Finch", thermocouple_type="K", thermocouple_class="iec_2")
    text = text_of(signed_in(artist).get(url(first), to(finch, heron)))
    # IEC 60584: the greater of 2.5 °C and 0.75 % of 804 °C.
    assert 'type K, IEC 60584 class 2: <span class="number">± 6 °C</span>' in text
    assert "type not known, class not known" in text


def test_moved_revision_is_kept_with_its_reason(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    browser, asked = signed_in(artist), to(wren, heron)
    shown = browser.get(url(first), asked)
    assert browser.post(url(first), sent_from(shown, asked)).status_code == 302
    made = first.schedule.revisions.latest()
    assert (made.number, made.unit, made.written_for, made.copied_from) == (2, "C", wren, first)
    assert targets(made) == [540, 677, 792, 482, 370]
    assert made.reason == (
        "Moved from Heron (revision 1) to Wren: top 804 °C → 792 °C, as it runs "
        "12 °C ± 4 °C hotter by the records; anneal soak as it was, unproven here; "
        "rates as they were."
    )
    assert targets(first) == [540, 677, 804, 482, 370]


def test_other_controller_gets_its_own_unit(
    first: Revision, heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    finch = make_kiln("Finch", controller_unit="F", **TILES)
    browser, asked = signed_in(artist), to(finch, heron)
    browser.post(url(first), sent_from(browser.get(url(first), asked), asked))
    made = first.schedule.revisions.latest()
    # 804 °C is 1479.2 °F; 330 °C/h is 594 °F/h.
    assert (made.unit, targets(made)[2], made.segments.all()[2].rate) == ("F", 1479, 594)
    assert "top 804 °C → 1479 °F" in made.reason


def test_fahrenheit_schedule_is_moved_by_differences(
    heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    old = make_kiln("Old Finch", controller_unit="F", in_service=False, **TILES)
    revision = make_revision(
        make_schedule(artist), [("300", "1480", 10), ("50", "900", 60)], unit="F", written_for=old
    )
    response = signed_in(artist).get(url(revision), to(heron, old))
    now = response.context["moved"].translation.written
    assert [(one.rate, one.target) for one in now] == [(167, 804), (28, 482)]
    assert "rounded from 166.67/h and 804.44" in text_of(response)


def test_soak_moves_on_evidence_near_it(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    asked = to(wren, heron, soak_difference="5", soak_evidence="one logger in both at the soak")
    response = signed_in(artist).get(url(first), asked)
    moved = response.context["moved"]
    assert [float(one.target) for one in moved.translation.written] == [540, 677, 792, 477, 370]
    assert "anneal soak −5 °C (one logger in both at the soak)" in moved.reason


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"soak_difference": "5"}, "soak_evidence"),
        ({"soak_evidence": "a logger"}, "soak_difference"),
        ({"soak_difference": "50", "soak_evidence": "a logger"}, "soak_difference"),
        ({"soak_difference": "a bit", "soak_evidence": "a logger"}, "soak_difference"),
        ({"to_kiln": ""}, "to_kiln"),
        ({"to_kiln": "999"}, "to_kiln"),
        ({"from_kiln": "x"}, "from_kiln"),
        ({"way": "7"}, "way"),
    ],
)
def test_what_is_missing_is_told_at_its_field(
    first: Revision,
    heron: Kiln,
    wren: Kiln,
    artist: Person,
    signed_in: SignIn,
    typed: dict[str, str],
    field: str,
) -> None:
    response = signed_in(artist).get(url(first), to(wren, heron) | typed)
    assert response.status_code == 200
    assert response.context["asked"].errors[field]
    assert response.context["moved"] is None
    for name, value in typed.items():
        assert not name.startswith("soak") or f'value="{value}"' in response.content.decode()


def test_same_kiln_and_one_out_of_service_are_refused_in_words(
    first: Revision, heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    gone = make_kiln("Gull", in_service=False)
    browser = signed_in(artist)
    assert "It is written for Heron already" in text_of(browser.get(url(first), to(heron, heron)))
    response = browser.get(url(first), to(gone, heron))
    assert "Gull is out of service" in text_of(response)
    assert response.context["moved"] is None


def test_top_beyond_the_kiln_is_told_and_not_kept(
    first: Revision, heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    small = make_kiln("Finch", max_temperature_c=780.0)
    browser, asked = signed_in(artist), to(small, heron)
    shown = browser.get(url(first), asked)
    assert "highest temperature is 780 °C" in text_of(shown)
    response = browser.post(url(first), sent_from(shown, asked))
    assert "Finch can’t fire it as it stands" in text_of(response)
    assert first.schedule.revisions.count() == 1


def test_kiln_that_never_gets_there_is_told(
    first: Revision, heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    weak = make_kiln("Finch", full_power_limit_c=790.0)
    response = signed_in(artist).get(url(first), to(weak, heron))
    assert response.status_code == 200
    assert response.context["moved"].is_refused
    assert response.context["moved"].translation.heat_works is None


def test_weak_kiln_is_told_with_its_times_and_a_fitted_hold(
    first: Revision, heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    weak = make_kiln("Finch", full_power_limit_c=1250.0, rise_at_700_c_per_h=280.0, **TILES)
    browser = signed_in(artist)
    response = browser.get(url(first), to(weak, heron))
    text = text_of(response)
    assert "Segment 3: the kiln can’t follow 330 °C/h" in text
    moved = response.context["moved"]
    assert moved.translation.hold_change < 0
    assert "for equal heat work" in moved.reason
    kept = browser.get(url(first), to(weak, heron, keep_hold="on")).context["moved"]
    assert kept.translation.written[2].hold_minutes == 10


def test_kiln_that_hardly_gets_there_is_keyed_lower(
    first: Revision, heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    weak = make_kiln("Finch", full_power_limit_c=860.0, rise_at_700_c_per_h=80.0, **TILES)
    response = signed_in(artist).get(url(first), to(weak, heron))
    moved = response.context["moved"]
    assert moved.translation.peak_fit < 0
    assert "lower still, as hardly any hold would be left" in text_of(response)
    assert "less for its slower approach" in moved.reason


def test_too_many_segments_are_offered_joined_and_one_can_choose(
    artist: Person, heron: Kiln, signed_in: SignIn
) -> None:
    few = make_kiln("Finch", controller_segments=6, cooling_constant_h=1.0, **TILES)
    few.slow_cooling_constant_h = None
    few.save()
    rows = [
        ("100", "300", 0), ("200", "540", 0), ("300", "677", 30), ("330", "804", 10),
        (None, "482", 60), ("80", "427", 0), ("145", "371", 0), ("200", "100", 0),
    ]  # fmt: skip
    revision = make_revision(make_schedule(artist), rows, written_for=heron)
    browser = signed_in(artist)
    response = browser.get(url(revision), to(few, heron))
    offered = response.context["moved"].translation.offered
    assert len(offered) == 2
    assert all(Decimal(482) in [Decimal(s.target) for s in way.segments] for way in offered)
    assert "Take this instead" in text_of(response)
    assert "0 min longer" not in text_of(response)
    other = browser.get(url(revision), to(few, heron, way="1")).context["moved"]
    assert other.translation.merging == offered[1]
    assert len(other.translation.written) == 6


def test_no_way_to_fit_is_told(
    first: Revision, heron: Kiln, artist: Person, signed_in: SignIn
) -> None:
    few = make_kiln("Finch", controller_segments=2)
    response = signed_in(artist).get(url(first), to(few, heron))
    assert "there is no way to join these to so few" in text_of(response)
    assert response.context["moved"].is_refused


def test_repeats_in_both_kilns_tell_of_the_offset(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    for kiln, verdict in ((heron, 0), (heron, 0), (wren, 1), (wren, 2)):
        when = timezone.now() - timedelta(days=20)
        firing = make_firing(
            artist, revision=first, kiln=kiln, state="opened", started_at=when,
            recorded_peak_c=804.0, recorded_duration_s=36_000,
        )  # fmt: skip
        load_piece(firing, verdict=verdict, judged_by=artist, judged_at=timezone.now())
    response = signed_in(artist).get(url(first), to(wren, heron))
    moved = response.context["moved"]
    assert (moved.repeats.firings_from, moved.repeats.firings_to) == (2, 2)
    assert moved.repeats.doubt < moved.recorded.doubt
    assert "By 2 judged firings of this schedule in Heron and 2 in Wren" in text_of(response)
    assert "by firings in both" in moved.reason
    assert moved.advice.rests_on


@pytest.mark.parametrize("process", ["anneal_only", "metal_clay"])
def test_where_heat_work_says_nothing_the_page_still_works(
    process: str, artist: Person, heron: Kiln, wren: Kiln, signed_in: SignIn
) -> None:
    schedule = make_schedule(artist, process=process, name=process)
    revision = make_revision(schedule, [("100", "516", 60), ("60", "400", 0)], written_for=heron)
    response = signed_in(artist).get(url(revision), to(wren, heron))
    assert response.status_code == 200
    moved = response.context["moved"]
    assert moved.advice.chance_now is None
    keyed = float(moved.translation.written[0].target)
    assert keyed == (516 if process == "anneal_only" else 504)
    assert "−0" not in moved.reason


def test_numbers_that_changed_meanwhile_are_shown_again(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    browser, asked = signed_in(artist), to(wren, heron)
    sent = sent_from(browser.get(url(first), asked), asked, reason="For Wren")
    wren.offset_c = 8.0
    wren.save()
    response = browser.post(url(first), sent)
    assert "The numbers read differently now" in text_of(response)
    assert "For Wren" in text_of(response)
    assert first.schedule.revisions.count() == 1


def test_writer_is_told_of_a_newer_revision(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    browser, asked = signed_in(artist), to(wren, heron)
    sent = sent_from(browser.get(url(first), asked), asked)
    make_revision(first.schedule, reason="Softer corners")
    text = text_of(browser.post(url(first), sent))
    assert "Inka has made revision 2 meanwhile" in text
    assert 'name="newest_seen" value="2"' in text
    assert first.schedule.revisions.count() == 2


def test_form_sent_twice_makes_one_revision(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    browser, asked = signed_in(artist), to(wren, heron)
    sent = sent_from(browser.get(url(first), asked), asked, form_key=str(uuid.uuid4()))
    browser.post(url(first), sent)
    assert browser.post(url(first), sent).status_code == 302
    assert first.schedule.revisions.count() == 2


def test_missing_reason_is_told_at_its_field(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    browser, asked = signed_in(artist), to(wren, heron)
    response = browser.post(url(first), sent_from(browser.get(url(first), asked), asked, reason=""))
    assert response.context["form"].errors["reason"]
    assert first.schedule.revisions.count() == 1


def test_more_firings_ask_no_more_queries(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    browser, asked = signed_in(artist), to(wren, heron)

    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            browser.get(url(first), asked)
        return len(seen)

    def fire() -> None:
        for kiln in (heron, wren):
            firing = make_firing(artist, revision=first, kiln=kiln, state="opened")
            load_piece(firing, verdict=0, judged_by=artist, judged_at=timezone.now())

    fire()
    queries()  # the first visit finds the studio's row
    before = queries()
    for _ in range(3):
        fire()
    assert queries() == before


def test_schedule_page_leads_here(
    first: Revision, heron: Kiln, artist: Person, student: Person, signed_in: SignIn
) -> None:
    page = reverse("schedules:schedule_detail", args=[first.schedule_id])
    assert url(first) in signed_in(artist).get(page).content.decode()
    assert url(first) not in signed_in(student).get(page).content.decode()


def test_drawn_in_another_kiln_it_offers_to_be_moved_there(
    first: Revision, heron: Kiln, wren: Kiln, artist: Person, signed_in: SignIn
) -> None:
    page = reverse("schedules:schedule_detail", args=[first.schedule_id])
    browser, offer = signed_in(artist), f"from_kiln={heron.pk}&amp;to_kiln={wren.pk}"
    assert offer in browser.get(page, {"kiln": wren.pk}).content.decode()
    assert offer not in browser.get(page, {"kiln": heron.pk}).content.decode()


def test_student_may_not_move_anothers_schedule(
    first: Revision, heron: Kiln, wren: Kiln, student: Person, signed_in: SignIn
) -> None:
    assert signed_in(student).get(url(first)).status_code == 403
    assert signed_in(student).post(url(first), to(wren, heron)).status_code == 403


def test_instructor_may(
    first: Revision, heron: Kiln, wren: Kiln, instructor: Person, signed_in: SignIn
) -> None:
    assert signed_in(instructor).get(url(first), to(wren, heron)).status_code == 200


def test_outsider_is_led_to_sign_in(first: Revision, outsider: Client) -> None:
    assert outsider.get(url(first)).status_code == 302


def test_other_methods_are_refused(first: Revision, artist: Person, signed_in: SignIn) -> None:
    assert signed_in(artist).put(url(first)).status_code == 405
