from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from firings.services.advice import PastFiring, Situation, StepLimits, advise
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1150.0, 7000.0, 11000.0)
LIMITS = StepLimits()


def schedule(peak=804.0, hold=600.0):
    return [
        Segment(200.0, 620.0, 1800.0),
        Segment(300.0, peak, hold),
        Segment(None, 510.0, 3600.0),
        Segment(80.0, 370.0, 0.0),
    ]


def situation(peak=804.0, hold=600.0, **overrides):
    return Situation(schedule(peak, hold), KILN, Glass(), "A", **overrides)


def fired(verdict, peak=804.0, hold=600.0, *, kiln="A", uncertainty=0.12, faults=(), **overrides):
    work = planned_curve(schedule(peak, hold), KILN).heat_work(Glass())
    return PastFiring(kiln, work, uncertainty, verdict, faults, **overrides)


def codes(note):
    return [reason.code for reason in note.reasons]


def direction(note):
    return np.sign(note.peak_change + note.hold_change)


@pytest.mark.parametrize(("verdict", "way"), [(-2, 1), (-1, 1), (1, -1), (2, -1)])
def test_advice_goes_against_the_verdict(verdict, way):
    note = advise([fired(verdict, firing=1)], situation(), LIMITS)
    assert note.action == "change"
    assert direction(note) == way
    assert note.chance_then > note.chance_now
    assert [one.firing for one in note.rests_on] == [1]


def test_as_wanted_is_fired_again_unchanged():
    note = advise([fired(0)], situation(), LIMITS)
    assert note.action == "unchanged"
    assert note.segments == tuple(schedule())
    assert note.chance_then == note.chance_now


def test_a_worse_miss_gets_a_larger_step():
    only_peak = StepLimits(peak=30.0, hold=0.0)
    steps = [advise([fired(verdict)], situation(), only_peak).peak_change for verdict in (-1, -2)]
    assert 0 < steps[0] < steps[1]


def test_only_the_top_moves_and_never_peak_and_hold_at_once():
    note = advise([fired(-2)], situation(), LIMITS)
    changed = [
        (i, a, b) for i, (a, b) in enumerate(zip(schedule(), note.segments, strict=True)) if a != b
    ]
    assert [index for index, _, _ in changed] == [1]
    assert changed[0][2].rate == 300.0
    assert (note.peak_change == 0) != (note.hold_change == 0)


def test_a_verdict_bracketed_from_both_sides_lands_between():
    past = [fired(-1, 800.0), fired(1, 812.0)]
    note = advise(past, situation(800.0), StepLimits(peak=20.0, hold=0.0))
    assert 804 <= 800 + note.peak_change <= 808


def test_a_slump_is_held_longer_before_it_is_fired_hotter():
    note = advise([fired(-1, 677.0)], situation(677.0, process="slump"), LIMITS)
    assert note.hold_change > 0
    assert note.reasons[0].tries[0].act == "lengthen_hold"


def test_a_contour_fuse_near_devitrification_is_fired_hotter_rather_than_longer():
    here = situation(775.0, process="contour_fuse")
    assert advise([fired(-1, 775.0)], here, LIMITS).peak_change > 0


def test_a_tack_is_held_longer_and_cooled_when_it_went_too_far():
    here = situation(745.0, process="tack fuse")
    assert advise([fired(-1, 745.0)], here, LIMITS).hold_change > 0
    assert advise([fired(1, 745.0)], here, LIMITS).peak_change < 0


def test_the_partner_has_the_same_heat_work():
    note = advise([fired(-1)], situation(), LIMITS)
    by_note = planned_curve(note.segments, KILN).heat_work(Glass())
    other = schedule(804.0 + note.partner.peak_change, 600.0 + note.partner.hold_change)
    assert planned_curve(other, KILN).heat_work(Glass()) == pytest.approx(by_note, rel=1e-3)
    assert (note.partner.peak_change == 0) != (note.peak_change == 0)


def test_the_exchange_is_that_of_two_curves():
    note = advise([fired(0)], situation(), LIMITS)
    longer = planned_curve(schedule(804.0, 660.0), KILN).heat_work(Glass())
    hotter = planned_curve(schedule(804.0 + note.exchange), KILN).heat_work(Glass())
    assert hotter == pytest.approx(longer, rel=2e-3)


class TestLimits:
    def test_a_step_stays_within_the_studios_limit(self):
        note = advise([fired(-2)], situation(), StepLimits(peak=3.0, hold=120.0))
        assert abs(note.peak_change) <= 3.0
        assert abs(note.hold_change) <= 120.0

    def test_a_step_is_a_multiple_of_what_the_controller_takes(self):
        fahrenheit = 5 / 9
        limits = StepLimits(hold=0.0, peak_resolution=fahrenheit)
        note = advise([fired(-2)], situation(), limits)
        assert note.peak_change / fahrenheit == pytest.approx(round(note.peak_change / fahrenheit))
        assert 7.2 < note.peak_change <= 8.0

    def test_the_kilns_highest_temperature_holds(self):
        note = advise([fired(-2)], situation(), StepLimits(hold=0.0, max_temperature=806.0))
        assert note.peak_change <= 2.0

    def test_a_top_above_the_kilns_limit_is_no_case_for_tuning(self):
        note = advise([fired(0)], situation(), StepLimits(max_temperature=800.0))
        assert note.action == "look_elsewhere"
        assert codes(note) == ["above_the_kilns_limit"]

    def test_the_range_of_the_process_holds_in_the_glass(self):
        here = situation(670.0, process="slump", offset=8.0)
        note = advise([fired(-2, 670.0)], here, StepLimits(hold=0.0))
        assert note.peak_change <= 2.0

    def test_no_room_left_is_said(self):
        here = situation(process_range=(790.0, 804.0))
        note = advise([fired(-2)] * 3, here, StepLimits(hold=0.0))
        assert note.action == "unchanged"
        assert "no_room" in codes(note)

    def test_a_hold_never_becomes_negative(self):
        note = advise([fired(2, hold=120.0)], situation(hold=120.0), StepLimits(peak=0.0))
        assert note.action == "change"
        assert note.segments[1].hold >= 0

    def test_a_step_smaller_than_the_kiln_repeats_to_is_not_taken(self):
        note = advise([fired(-1)], situation(repeatability=10.0), StepLimits(hold=0.0))
        assert note.action == "unchanged"
        assert "within_repeatability" in codes(note)

    @pytest.mark.parametrize(
        "wrong",
        [{"peak": -1.0}, {"hold": -1.0}, {"peak_resolution": 0.0}, {"hold_resolution": -60.0}],
    )
    def test_limits_refuse_nonsense(self, wrong):
        with pytest.raises(ValueError, match=r"0 or more|above 0"):
            StepLimits(**wrong)


class TestGates:
    @pytest.mark.parametrize("process", ["anneal_only", "bead_anneal", "metal_clay"])
    def test_no_advice_where_the_top_is_no_working_of_glass(self, process):
        note = advise([fired(-2)], situation(process=process), LIMITS)
        assert note.action == "look_elsewhere"
        assert note.chance_now is None

    def test_a_top_in_the_annealing_range_is_an_anneal_whatever_it_is_called(self):
        here = Situation([Segment(100.0, 515.0, 3600.0)], KILN, Glass(), "A")
        assert codes(advise([], here, LIMITS)) == ["top_is_the_anneal"]

    def test_a_missed_plan_is_mended_first(self):
        past = [fired(-1), fired(-2, 797.0, firing=2, missed_plan=True)]
        note = advise(past, situation(), LIMITS)
        assert note.action == "unchanged"
        assert codes(note)[0] == "missed_plan"
        assert note.reasons[0].firings == (2,)

    def test_an_earlier_missed_plan_is_evidence_for_what_was_achieved(self):
        past = [fired(-1, 797.0, missed_plan=True), fired(0)]
        assert advise(past, situation(), LIMITS).action == "unchanged"
        assert len(advise(past, situation(), LIMITS).rests_on) == 2

    def test_pieces_of_very_different_mass_are_fired_separately(self):
        note = advise([fired(-1, mass_ratio=6.0, firing=3)], situation(), LIMITS)
        assert note.action == "look_elsewhere"
        assert codes(note)[0] == "very_different_masses"
        assert note.reasons[0].figures["ratio"] == 6.0

    def test_two_changes_at_once_want_a_confirming_firing(self):
        note = advise([fired(-1, also_changed=("mould",))], situation(), LIMITS)
        assert note.action == "unchanged"
        assert note.reasons[0].details == ("mould",)

    @pytest.mark.parametrize(
        ("fault", "act"),
        [
            ("crack_rounded", "scale_first_ramp"),
            ("bubble", "lengthen_bubble_hold"),
            ("devitrification", "clean_glass"),
            ("stuck", "new_separator"),
        ],
    )
    def test_a_fault_of_another_kind_is_looked_for_elsewhere(self, fault, act):
        note = advise([fired(-1, faults=(fault,))], situation(process="full_fuse"), LIMITS)
        assert note.action == "look_elsewhere"
        assert note.reasons[0].tries[0].act == act
        assert note.segments == tuple(schedule())

    def test_a_fault_that_was_mended_since_stops_nothing(self):
        note = advise([fired(-1, faults=("crack",)), fired(-1)], situation(), LIMITS)
        assert note.action == "change"

    def test_a_fault_that_the_table_does_not_know_is_left_to_people(self):
        note = advise([fired(-1, faults=("other",))], situation(), LIMITS)
        assert note.action == "look_elsewhere"
        assert codes(note)[0] == "unknown_fault"

    def test_several_faults_are_all_named(self):
        note = advise([fired(0, faults=("stuck", "split"))], situation(), LIMITS)
        assert [reason.details[0] for reason in note.reasons[:2]] == ["stuck", "split"]
        assert codes(note)[-1] == "several_faults"

    def test_a_mould_mark_on_a_slump_that_fell_short_is_a_conflict(self):
        here = situation(677.0, process="slump")
        far, short = (fired(v, 677.0, faults=("mould_mark",)) for v in (1, -1))
        assert advise([far], here, LIMITS).action == "change"
        assert codes(advise([short], here, LIMITS))[0] == "fault_against_verdict"

    def test_contradicting_verdicts_at_one_heat_work_are_looked_into(self):
        note = advise([fired(2, firing=1), fired(-1, firing=2)], situation(), LIMITS)
        assert note.action == "look_elsewhere"
        assert note.reasons[0].firings == (1, 2)

    def test_only_the_place_on_the_shelf_differs(self):
        past = [
            fired(0, place="middle", firing=1),
            fired(0, place="middle", firing=2),
            fired(-1, place="corner", firing=3),
        ]
        note = advise(past, situation(), LIMITS)
        assert note.action == "unchanged"
        assert codes(note)[0] == "only_the_place_differs"

    def test_not_judged_yet_never_counts_as_wanted(self):
        note = advise([fired(None, firing=4)], situation(), LIMITS)
        assert note.action == "unchanged"
        assert codes(note)[0] == "too_little_evidence"
        assert note.reasons[0].firings == (4,)
        assert note.rests_on == ()
        assert note.chance_now == advise([], situation(), LIMITS).chance_now

    def test_gates_look_at_the_last_day_not_at_the_last_row(self):
        missed = fired(-1, fired_on=date(2025, 3, 1), missed_plan=True)
        fine = fired(-1, fired_on=date(2025, 3, 8))
        assert advise([fine, missed], situation(), LIMITS).action == "change"

    def test_never_more_heat_work_than_came_out_well_past_here(self):
        past = [fired(-1, 790.0)] * 12 + [fired(2, 804.0), fired(-1, 796.0)]
        note = advise(past, situation(), LIMITS)
        assert direction(note) <= 0


class TestSetApart:
    def test_a_cold_place_does_not_raise_the_schedule(self):
        past = [fired(0, place="middle")] * 4 + [fired(-1, place="corner", firing=9)] * 4
        as_one = advise(past, situation(), LIMITS)
        told_apart = advise(past, situation(place="middle"), LIMITS)
        assert told_apart.missing < as_one.missing

    def test_a_cold_place_is_named_with_its_firings(self):
        past = [fired(0, place="middle")] * 6 + [fired(-2, place="corner", firing=9)] * 6
        note = advise([*past, fired(0, place="middle")], situation(place="middle"), LIMITS)
        (apart,) = [reason for reason in note.reasons if reason.code == "place_apart"]
        assert apart.figures["shift"] > 0
        assert apart.firings == (9,) * 6

    def test_another_thickness_tells_less_of_this_one(self):
        here = situation(thickness_class=6.0)
        thick = advise([fired(-1, thickness_class=12.0)], here, LIMITS)
        same = advise([fired(-1, thickness_class=6.0)], here, LIMITS)
        assert same.missing > thick.missing > 0

    def test_a_piece_apart_is_as_any_other_where_nobody_says_what_it_is_tuned_by(self):
        past = [fired(-1, place="corner"), fired(0, place="middle")]
        plain = [fired(-1), fired(0)]
        assert advise(past, situation(), LIMITS).missing == pytest.approx(
            advise(plain, situation(), LIMITS).missing
        )


class TestOtherKilns:
    def test_a_history_elsewhere_counts_for_less(self):
        here, there = fired(-2, kiln="A"), fired(-2, kiln="B")
        own = advise([here], situation(), LIMITS)
        other = advise([there], situation(), LIMITS)
        assert own.missing > other.missing > 0
        assert own.rests_on[0].weight > other.rests_on[0].weight

    def test_a_known_offset_moves_what_was_learnt_elsewhere(self):
        past = [fired(0, kiln="B")] * 3
        unknown = advise(past, situation(), LIMITS)
        hot = advise(past, situation(offsets={"B": 10.0}), LIMITS)
        assert hot.missing > unknown.missing + 3

    def test_a_service_makes_older_firings_weigh_less(self):
        past = [fired(-2, service_epoch=0)]
        before = advise(past, situation(service_epoch=0), LIMITS)
        after = advise(past, situation(service_epoch=1), LIMITS)
        assert after.missing < before.missing
        assert after.rests_on[0].weight < before.rests_on[0].weight


@pytest.mark.parametrize("process", ["full_fuse", "tack_fuse", "slump", None])
@pytest.mark.parametrize("verdicts", [(-2,), (-1, 1), (1,), (2, 0, 1)])
@pytest.mark.parametrize("hold", [600.0, 720.0])
def test_a_display_that_reads_12_higher_changes_no_advice_in_the_glass(process, verdicts, hold):
    """Display 12 °C up, offset 12 °C down: the glass gets the same firing, so the same advice.

    Exact but for the table's rounding.
    """
    top = {"full_fuse": 804.0, "tack_fuse": 745.0, "slump": 670.0, None: 780.0}[process]

    def note(shift):
        kiln = replace(
            KILN,
            full_power_limit=1150.0 + shift,
            ambient=20.0 + shift,
            slow_cooling_below=370.0 + shift,
        )

        def shifted(peak, held):
            return [replace(s, target=s.target + shift) for s in schedule(peak, held)]

        past = []
        for number, verdict in enumerate(verdicts):
            done = shifted(top - 3.0 * number, hold)
            work = planned_curve(done, kiln).heat_work(Glass())
            past.append(PastFiring("A", work, 0.1, verdict, hold=hold))
        here = Situation(
            shifted(top, 600.0), kiln, Glass(), "A", process=process, offset=5.0 - shift
        )
        return advise(past, here, LIMITS)

    as_it_is, reads_higher = note(0.0), note(12.0)
    assert reads_higher.action == as_it_is.action
    assert reads_higher.peak_change == as_it_is.peak_change
    assert reads_higher.hold_change == as_it_is.hold_change
    assert reads_higher.chances_then == pytest.approx(as_it_is.chances_then, abs=2e-5)


def test_the_offset_alone_is_applied_once():
    """Two kilns with the same display history and target: the offset moves the prior, no more."""
    note, offset = (advise([fired(-1)], situation(offset=o), LIMITS) for o in (0.0, 10.0))
    assert note.missing == pytest.approx(offset.missing, abs=0.3)


def test_a_situation_refuses_nonsense():
    with pytest.raises(ValueError, match="segment"):
        Situation([], KILN, Glass(), "A")
    with pytest.raises(ValueError, match="repeatability"):
        situation(repeatability=-1.0)
    with pytest.raises(ValueError, match="offset"):
        situation(offset=float("nan"))
