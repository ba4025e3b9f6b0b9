"""Firings as evidence: verdicts, faults, what is known of the heat work, and the situation."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from math import hypot

import pytest

from firings.advice_inputs import (
    past_firing,
    past_firings,
    service_epoch,
    situation_of,
    step_limits,
    thickness_class,
)
from firings.core_inputs import keyed_curve, schedule_glass
from firings.models import BroughtFiring, Fault, Firing, FiringEvent
from firings.queries.tuning import firings_of_schedule, next_time_note
from firings.services.evidence import PastFiring, beside_the_plan
from studio.actions.list_import import list_take_in
from studio.models import Person, ServiceEntry, Studio
from studio.services.lists.table import read_table
from tests.factories import (
    load_piece,
    make_firing,
    make_kiln,
    make_place,
    make_revision,
    make_schedule,
)

BESIDE_THE_PLAN = beside_the_plan(1.0, 1.0)[1]
START = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)


def opened(person: Person, **overrides: object) -> Firing:
    overrides.setdefault("started_at", START)
    return make_firing(
        person, state="opened", opened_at=overrides["started_at"] + timedelta(hours=16), **overrides
    )


def evidence(firing: Firing) -> PastFiring | None:
    firing = firings_of_schedule(firing.revision.schedule, None).get(pk=firing.pk)
    return past_firing(firing, schedule_glass(firing.revision))


def bring_in(firing: Firing) -> None:
    raw = b"kiln,started\nHeron,2024-03-04\n"
    taken = list_take_in(
        kind="firings", by=firing.fired_by, name="past.csv", raw=raw, table=read_table(raw)
    )
    BroughtFiring.objects.create(
        firing=firing, taken=taken, line=2, knows_time=False, knows_opening=False
    )


def test_as_planned_means_the_plans_heat_work(artist: Person) -> None:
    firing = opened(artist, recorded_peak_c=804.0, recorded_hold_s=600)
    planned = keyed_curve(firing).heat_work(schedule_glass(firing.revision))

    assert evidence(firing).heat_work == pytest.approx(planned)
    assert not evidence(firing).missed_plan


def test_a_cooler_peak_is_less_heat_work_and_a_missed_plan(artist: Person) -> None:
    cooler = evidence(opened(artist, recorded_peak_c=797.0))
    planned = evidence(opened(artist))

    assert cooler.heat_work < 0.85 * planned.heat_work
    assert cooler.missed_plan
    assert not planned.missed_plan


def test_a_peak_that_cannot_be_of_this_plan_tells_nothing(artist: Person) -> None:
    firing = opened(artist, recorded_peak_c=600.0)
    load_piece(firing, verdict=0)

    assert not evidence(firing).tells


@pytest.mark.parametrize(
    ("recorded", "uncertainty"),
    [
        ({"recorded_peak_c": 804.0, "recorded_hold_s": 600}, BESIDE_THE_PLAN),
        ({"recorded_peak_c": 804.0, "recorded_duration_s": 36000}, BESIDE_THE_PLAN),
        ({"recorded_peak_c": 804.0}, 0.20),
        ({}, 0.20),
    ],
)
def test_uncertainty_follows_what_was_recorded(
    artist: Person, recorded: dict[str, float], uncertainty: float
) -> None:
    assert evidence(opened(artist, **recorded)).uncertainty == pytest.approx(uncertainty)


def test_a_noted_peak_that_missed_the_plan_stands_alone(artist: Person) -> None:
    missed = evidence(opened(artist, recorded_peak_c=790.0, recorded_hold_s=600))

    assert missed.missed_plan
    assert missed.uncertainty == pytest.approx(0.12)


def test_the_hold_is_as_noted_or_as_keyed_where_the_plan_was_kept(artist: Person) -> None:
    noted = evidence(opened(artist, recorded_peak_c=804.0, recorded_hold_s=660))
    kept = evidence(opened(artist, recorded_peak_c=804.0, recorded_duration_s=36000))

    assert noted.hold == 660.0
    assert kept.hold == 600.0
    assert evidence(opened(artist)).hold is None


def test_masses_far_apart_are_told(artist: Person) -> None:
    firing = opened(artist)
    load_piece(firing, verdict=0, length_mm=100, width_mm=100, thickest_mm=6)
    load_piece(firing, verdict=-1, length_mm=400, width_mm=300, thickest_mm=6)

    assert evidence(firing).mass_ratio == pytest.approx(12.0)


def test_a_hold_cut_by_hand_is_unknown_unless_noted(artist: Person) -> None:
    firing = opened(artist, recorded_peak_c=804.0, recorded_duration_s=36000)
    FiringEvent.objects.create(firing=firing, kind="went_on_early", noted_by=artist)

    assert evidence(firing).uncertainty == pytest.approx(0.20)


@pytest.mark.parametrize("kind", ["stopped_early", "power_cut"])
def test_a_spoilt_firing_is_left_out(artist: Person, kind: str) -> None:
    firing = opened(artist)
    load_piece(firing, verdict=-2)
    FiringEvent.objects.create(firing=firing, kind=kind, noted_by=artist)

    assert evidence(firing) is None


def test_vented_is_no_reason_to_leave_it_out(artist: Person) -> None:
    firing = opened(artist)
    FiringEvent.objects.create(firing=firing, kind="vented", noted_by=artist)

    assert evidence(firing) is not None


def test_not_judged_never_counts_as_wanted(artist: Person) -> None:
    firing = opened(artist)
    load_piece(firing)

    assert evidence(firing).verdict is None
    assert not evidence(firing).tells


def test_the_served_piece_decides(artist: Person) -> None:
    firing = opened(artist)
    load_piece(firing, verdict=-1, is_served=True)
    load_piece(firing, verdict=2)

    assert evidence(firing).verdict == -1


def test_an_instructor_decides_over_the_maker(artist: Person, instructor: Person) -> None:
    firing = opened(artist)
    load_piece(firing, verdict=0, judged_by=artist, is_served=False)
    load_piece(firing, verdict=1, judged_by=instructor, is_served=False)

    assert evidence(firing).verdict == 1


def test_the_reference_place_is_surer(artist: Person) -> None:
    kiln = make_kiln()
    centre = make_place(kiln, is_reference=True)
    firing = opened(artist, kiln=kiln, recorded_peak_c=804.0, recorded_hold_s=600)
    load_piece(firing, verdict=0, place=centre)

    assert evidence(firing).uncertainty == pytest.approx(BESIDE_THE_PLAN)
    assert evidence(firing).place == centre.pk


@pytest.mark.parametrize(
    ("kind", "severity", "counts"),
    [
        ("small_bubbles", 1, False),
        ("small_bubbles", 2, True),
        ("crack_sharp", 1, True),
    ],
)
def test_a_slight_fault_counts_only_if_it_is_a_crack(
    artist: Person, kind: str, severity: int, counts: bool
) -> None:
    firing = opened(artist)
    Fault.objects.create(
        loaded_piece=load_piece(firing, verdict=0), kind=kind, severity=severity, noted_by=artist
    )

    assert evidence(firing).faults == ((kind,) if counts else ())


def test_faults_of_a_load_without_a_verdict_still_count(artist: Person) -> None:
    firing = opened(artist)
    Fault.objects.create(loaded_piece=load_piece(firing), kind="split", noted_by=artist)

    assert evidence(firing).faults == ("split",)


def test_what_else_changed_comes_along(artist: Person) -> None:
    assert evidence(opened(artist, also_changed=["mould"])).also_changed == ("mould",)


@pytest.mark.parametrize(("thickest", "named"), [(None, None), (5.8, 6.0), (10.0, 9.0), (40, 25.0)])
def test_thickness_class(thickest: float | None, named: float | None) -> None:
    assert thickness_class(thickest) == named


def test_service_epoch_counts_what_moves_the_temperature(keeper: Person) -> None:
    kiln = make_kiln()
    for kind, day in [("thermocouple", 10), ("relay", 11), ("elements", 20)]:
        ServiceEntry.objects.create(
            kiln=kiln, kind=kind, done_on=date(2026, 3, day), written_by=keeper
        )

    epochs = [service_epoch(kiln, date(2026, 3, day)) for day in (9, 10, 19, 20)]

    assert epochs == [0, 1, 1, 2]


def test_situation_knows_the_kiln_and_the_offsets_of_others(artist: Person) -> None:
    revision = make_revision(make_schedule(artist))
    heron = make_kiln("Heron", offset_c=-4.0, repeatability_c=2.0)
    wren, owl = make_kiln("Wren", offset_c=12.0), make_kiln("Owl")

    situation = situation_of(revision, heron, others=[heron, wren, owl])

    assert (situation.kiln, situation.offset, situation.repeatability) == (heron.pk, -4.0, 2.0)
    assert situation.offsets == {wren.pk: 12.0}
    assert situation.process == "full_fuse"
    assert situation.segments[2].target == 804.0


def test_step_limits_are_the_studios_and_the_controllers(db: None) -> None:
    studio = Studio(largest_peak_step_c=5.0, largest_hold_step_minutes=10)
    kiln = make_kiln(max_temperature_c=900.0, controller_step=Decimal("2"))

    limits = step_limits(studio, kiln, "C")

    assert (limits.peak, limits.hold) == (5.0, 600.0)
    assert (limits.peak_resolution, limits.hold_resolution) == (2.0, 60.0)
    assert limits.max_temperature == 900.0


@pytest.mark.parametrize(
    ("controller", "step", "unit", "degrees"),
    [("F", "1", "F", 5 / 9), ("F", "1", "C", 1.0), ("C", "1", "F", 10 / 9), ("F", "5", "C", 3.0)],
)
def test_steps_can_be_keyed_and_written(
    db: None, controller: str, step: str, unit: str, degrees: float
) -> None:
    kiln = make_kiln(controller_unit=controller, controller_step=Decimal(step))

    assert step_limits(Studio(), kiln, unit).peak_resolution == pytest.approx(degrees)


def test_evidence_is_read_in_a_fixed_number_of_queries(
    artist: Person, keeper: Person, django_assert_num_queries
) -> None:
    revision = make_revision(make_schedule(artist))
    for number in range(6):
        kiln = make_kiln(f"Kiln {number}")
        ServiceEntry.objects.create(kiln=kiln, kind="elements", written_by=keeper)
        firing = opened(artist, revision=revision, kiln=kiln)
        Fault.objects.create(
            loaded_piece=load_piece(firing, verdict=0), kind="split", noted_by=artist
        )

    with django_assert_num_queries(11):
        firings = list(firings_of_schedule(revision.schedule, None))
        past = past_firings(firings, schedule_glass(revision))

    assert len(past) == 6


def test_a_schedule_is_tuned_by_the_reference_place_and_what_it_served(artist: Person) -> None:
    kiln = make_kiln()
    centre, corner = make_place(kiln, is_reference=True), make_place(kiln, name="corner")
    firing = opened(artist, kiln=kiln)
    load_piece(firing, verdict=0, place=centre, thickest_mm=9.0)
    load_piece(firing, verdict=-1, place=corner, thickest_mm=3.0, thinnest_mm=3.0)
    firings = list(firings_of_schedule(firing.revision.schedule, None))

    here = situation_of(firing.revision, kiln, firings=firings)

    assert (here.place, here.thickness_class) == (centre.pk, 9.0)
    assert situation_of(firing.revision, kiln).place is None


@pytest.mark.parametrize(
    ("recorded", "noted"),
    [({"recorded_peak_c": 804.0, "recorded_hold_s": 600}, 0.12), ({}, 0.20)],
)
def test_brought_in_is_less_sure_than_logged_here(
    keeper: Person, recorded: dict[str, float], noted: float
) -> None:
    here = opened(keeper, **recorded)
    from_a_list = opened(keeper, revision=here.revision, **recorded)
    bring_in(from_a_list)

    assert evidence(from_a_list).uncertainty == pytest.approx(hypot(noted, 0.20))
    assert evidence(from_a_list).uncertainty > 1.3 * evidence(here).uncertainty
    assert evidence(from_a_list).heat_work == pytest.approx(evidence(here).heat_work)


def test_brought_in_moves_the_advice_less_and_ten_of_them_more(keeper: Person) -> None:
    """By what the schedule is thought to be short of, °C, after verdicts "a touch short"."""
    logged, one, ten = (make_revision(make_schedule(keeper, name=name)) for name in "abc")
    for revision, times in ((logged, 1), (one, 1), (ten, 10)):
        for day in range(times):
            begun = START + timedelta(days=day)
            noted = {"recorded_peak_c": 804.0, "recorded_hold_s": 600}
            firing = opened(keeper, revision=revision, started_at=begun, **noted)
            load_piece(firing, verdict=-1)
            if revision is not logged:
                bring_in(firing)

    of_one_here, of_one, of_ten = (
        next_time_note(each.schedule, firing.kiln, Studio.current(), reader=None).advice
        for each in (logged, one, ten)
    )
    assert 0 < of_one.missing < of_one_here.missing
    assert of_one_here.missing_doubt < of_one.missing_doubt
    assert of_ten.missing > of_one.missing
    assert of_ten.missing_doubt < of_one.missing_doubt
