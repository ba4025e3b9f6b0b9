import pytest

from firings.services.fault_table import (
    FAULT_ROWS,
    HEAT_WORK_ROWS,
    PATTERN_ROWS,
    row_for_fault,
    row_for_verdict,
)

ROWS = (*HEAT_WORK_ROWS, *FAULT_ROWS, *PATTERN_ROWS)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.seen)
def test_every_row_says_why_what_to_try_and_what_to_leave(row):
    assert row.causes
    assert row.tries
    assert row.leave_alone


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.seen)
def test_no_first_try_touches_what_its_row_leaves_alone(row):
    touches = {
        "raise_peak": {"peak", "peak_up", "everything"},
        "lower_peak": {"peak"},
        "lengthen_hold": {"hold"},
        "shorten_hold": {"hold"},
        "scale_first_ramp": {"first_ramp", "rates"},
        "next_thickness_row": {"anneal", "cooling"},
    }
    assert not touches.get(row.tries[0].act, set()) & set(row.leave_alone)


@pytest.mark.parametrize(
    ("fault", "act"),
    [
        ("crack_rounded", "scale_first_ramp"),
        ("crack_sharp", "next_thickness_row"),
        ("crack_colour", "stress_test"),
        ("split", "scale_first_ramp"),
        ("small_bubbles", "lengthen_bubble_hold"),
        ("devitrification", "clean_glass"),
        ("stuck", "new_separator"),
        ("stuck_wash", "coat_again"),
        ("colour_wrong", "test_tile"),
    ],
)
def test_first_try_of_a_fault(fault, act):
    assert row_for_fault(fault, "full_fuse").tries[0].act == act


def test_a_sharp_edge_on_a_slump_cannot_date_a_crack():
    assert row_for_fault("crack_sharp", "slump").causes == ("unclear",)
    assert row_for_fault("crack_sharp", "full_fuse").causes == ("annealing", "opened_early")


def test_more_heat_work_for_a_slump_is_a_longer_hold():
    assert [attempt.act for attempt in row_for_verdict("slump", -2).tries] == ["lengthen_hold"]


def test_as_wanted_has_no_row():
    assert row_for_verdict("full_fuse", 0) is None
