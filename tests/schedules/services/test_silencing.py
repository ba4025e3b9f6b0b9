from dataclasses import replace

import pytest

from schedules.services.case import Remark
from schedules.services.silencing import Silenced, silencing

FAST = Remark("heating_fast", "warn", 0, 300.0, 150.0)
THEN = Silenced("heating_fast", "warn", 0, 300.0, 150.0)


@pytest.mark.parametrize(
    ("now", "is_silent"),
    [
        (FAST, True),
        (replace(FAST, figure=200.0), True),
        (replace(FAST, figure=314.0), True),
        (replace(FAST, figure=316.0), False),
        # The same rate for a thicker piece.
        (replace(FAST, limit=99.0), False),
        (replace(FAST, segment=1), False),
        (replace(FAST, segment=None), False),
        (replace(FAST, code="cooling_fast"), False),
        (replace(FAST, severity="note"), True),
        (replace(FAST, severity="block"), False),
    ],
)
def test_remark_is_heard_again_when_it_is_another_or_worse(now, is_silent):
    assert (silencing(now, [THEN]) is THEN) is is_silent


def test_less_than_a_limit_is_worse_when_it_is_less():
    soak = Remark("soak_short", "warn", 3, 38 * 60.0, 60 * 60.0)
    then = Silenced("soak_short", "warn", 3, 38 * 60.0, 60 * 60.0)
    assert silencing(replace(soak, figure=36 * 60.0), [then]) is then
    assert silencing(replace(soak, figure=35 * 60.0), [then]) is None


def test_note_that_becomes_a_warning_is_heard():
    note = Silenced("bubble_hold_short", "note", None, 600.0, 900.0)
    assert silencing(Remark("bubble_hold_short", "warn", None, 600.0, 900.0), [note]) is None


def test_what_blocks_is_never_silent():
    then = Silenced("families_mixed", "block", None, 2, 1)
    assert silencing(Remark("families_mixed", "block", None, 2, 1), [then]) is None


def test_remark_without_figures_goes_by_its_code():
    then = Silenced("another", "note")
    assert silencing(Remark("another", "note"), [then]) is then
    assert silencing(Remark("another", "note"), []) is None
