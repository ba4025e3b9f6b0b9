import pytest

from firings.services.advice import PastFiring, Situation, StepLimits, advise
from firings.services.what_if import what_if, what_ifs
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1150.0, 7000.0, 11000.0)
LIMITS = StepLimits()


def schedule(peak=804.0, hold=600.0):
    return [Segment(300.0, peak, hold), Segment(None, 510.0, 3600.0)]


def situation(**overrides):
    return Situation(schedule(), KILN, Glass(), "A", **overrides)


def fired(verdict, peak=804.0, hold=600.0):
    work = planned_curve(schedule(peak, hold), KILN).heat_work(Glass())
    return PastFiring("A", work, 0.1, verdict)


PAST = [fired(-1), fired(-2, 800.0)]


def test_no_change_has_the_chances_that_the_note_gives_for_now():
    told = what_if(PAST, situation(), LIMITS)
    assert told.chances == pytest.approx(advise(PAST, situation(), LIMITS).chances_now, abs=1e-3)
    assert told.worth == pytest.approx(0.0, abs=1e-9)


def test_the_change_of_the_note_has_the_chances_that_the_note_gives():
    note = advise(PAST, situation(), LIMITS)
    told = what_if(
        PAST, situation(), LIMITS, peak_change=note.peak_change, hold_change=note.hold_change
    )
    assert told.chances == pytest.approx(note.chances_then, abs=1e-3)


@pytest.mark.parametrize(("peak_change", "hold_change"), [(6.0, 0.0), (0.0, 480.0), (-4.0, 300.0)])
def test_either_lever_alone_gives_the_same_heat_work(peak_change, hold_change):
    told = what_if(PAST, situation(), LIMITS, peak_change=peak_change, hold_change=hold_change)
    asked, by_peak, by_hold = (
        planned_curve(schedule(804.0 + peak, 600.0 + hold), KILN).heat_work(Glass())
        for peak, hold in (
            (peak_change, hold_change),
            (told.by_peak, 0.0),
            (0.0, told.by_hold),
        )
    )
    assert by_peak == pytest.approx(asked, rel=1e-3)
    assert by_hold == pytest.approx(asked, rel=1e-3)


def test_far_too_little_has_no_partner_in_the_hold():
    assert what_if([], situation(), LIMITS, peak_change=-40.0).by_hold is None


def test_more_heat_work_makes_well_past_likelier():
    told = what_ifs(PAST, situation(), LIMITS, [(change, 0.0) for change in (-8.0, 0.0, 8.0)])
    well_past = [one.chances[4] for one in told]
    assert well_past == sorted(well_past)
    assert [sum(one.chances) for one in told] == pytest.approx([1.0, 1.0, 1.0])


@pytest.mark.parametrize(
    ("peak_change", "hold_change", "beyond"),
    [
        (8.0, 0.0, ()),
        (9.0, 0.0, ("step",)),
        (0.0, 1200.0, ("step",)),
        (0.0, -601.0, ("top",)),
        (-300.0, 0.0, ("step", "top")),
        (50.0, 0.0, ("step", "process")),
        (90.0, 0.0, ("step", "kiln")),
    ],
)
def test_limits_that_a_change_breaks_are_named(peak_change, hold_change, beyond):
    limits = StepLimits(max_temperature=890.0)
    told = what_if(
        [],
        situation(process="full_fuse"),
        limits,
        peak_change=peak_change,
        hold_change=hold_change,
    )
    assert told.beyond == beyond


def test_nothing_is_foretold_of_an_anneal():
    assert what_if([], situation(process="anneal_only"), LIMITS, peak_change=1.0) is None
