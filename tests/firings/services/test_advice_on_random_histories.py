"""Advice on histories that no studio would have: whatever comes in, its promises hold."""

import math
from dataclasses import replace

import numpy as np
import pytest

from firings.services.advice import PastFiring, Situation, StepLimits, advise
from firings.services.top import find_top
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

GLASS = Glass()
PROCESSES = (
    None,
    "full_fuse",
    "contour_fuse",
    "tack_fuse",
    "slump",
    "drape",
    "fire_polish",
    "cast",
)
ABSURD_WORK = (0.0, -1.0, math.nan, math.inf, 1e-300, 1e300, 1e-12, 1.0)
ABSURD_UNCERTAINTY = (0.0, -1.0, math.nan, math.inf, 50.0)
HOLDS = (None, None, 600.0, 900.0, 3600.0, 0.0, -5.0, math.nan, math.inf, 1e9)
FAULTS = ("crack", "bubble", "stuck", "devitrification", "mould_mark", "other", "never heard of")


def random_situation(rng):
    peak = float(rng.integers(640, 850))
    segments = [
        Segment(float(rng.uniform(50, 300)), 540.0, float(rng.integers(0, 60)) * 60),
        Segment(float(rng.uniform(50, 300)), peak, float(rng.integers(0, 90)) * 60),
        Segment(None, 510.0, 3600.0),
        Segment(80.0, 370.0),
    ]
    if rng.random() < 0.2:
        segments.insert(2, Segment(50.0, peak, 600.0))
    return Situation(
        segments,
        KilnResponse(float(rng.uniform(900, 1300)), 7000.0, 11000.0),
        GLASS,
        "A",
        process=PROCESSES[rng.integers(len(PROCESSES))],
        offset=float(rng.uniform(-15, 15)),
        repeatability=float(rng.choice([0.0, 1.5, 4.0])),
        place=["left", None][rng.integers(2)],
        thickness_class=[None, 6.0][rng.integers(2)],
    )


def random_limits(rng):
    return StepLimits(
        peak=float(rng.choice([0.0, 3.0, 8.0, 20.0])),
        hold=float(rng.choice([0.0, 300.0, 900.0])),
        peak_resolution=float(rng.choice([5 / 9, 1.0, 5.0])),
        hold_resolution=float(rng.choice([60.0, 300.0])),
        max_temperature=float(rng.choice([1300.0, 850.0, 800.0])),
    )


def random_firing(rng, own):
    work = own * math.exp(rng.normal(0.0, 0.6))
    uncertainty = float(rng.uniform(0.0, 0.4))
    verdict = [None, -2, -1, 0, 1, 2][rng.integers(6)]
    if rng.random() < 0.05:
        work = ABSURD_WORK[rng.integers(len(ABSURD_WORK))]
    if rng.random() < 0.05:
        uncertainty = ABSURD_UNCERTAINTY[rng.integers(len(ABSURD_UNCERTAINTY))]
    if rng.random() < 0.02:
        verdict = [7, -9, math.nan][rng.integers(3)]
    faults = (FAULTS[rng.integers(len(FAULTS))],) if rng.random() < 0.1 else ()
    return PastFiring(
        ["A", "A", "B", "C"][rng.integers(4)],
        work,
        uncertainty,
        verdict,
        faults,
        firing=int(rng.integers(1_000_000)),
        place=["left", "right", None][rng.integers(3)],
        service_epoch=int(rng.integers(0, 3)) if rng.random() < 0.2 else 0,
        missed_plan=bool(rng.random() < 0.1),
        also_changed=("mould",) if rng.random() < 0.1 else (),
        hold=HOLDS[rng.integers(len(HOLDS))],
        mass_ratio=6.0 if rng.random() < 0.03 else None,
        thickness_class=[None, 6.0, 12.0][rng.integers(3)],
        sitting=["spring", "autumn", None, None][rng.integers(4)],
    )


def direction(note):
    return np.sign(note.peak_change + note.hold_change)


def check_promises(seed):
    rng = np.random.default_rng(seed)
    here, limits = random_situation(rng), random_limits(rng)
    own = planned_curve(here.segments, here.response).heat_work(GLASS)
    count = int(
        rng.choice([0, 1, 2, 3, 5, 10, 30, 500], p=[0.05, 0.2, 0.2, 0.2, 0.2, 0.1, 0.04, 0.01])
    )
    past = [random_firing(rng, own) for _ in range(count)]
    note = advise(past, here, limits)

    assert note.action in {"change", "unchanged", "look_elsewhere"}
    assert abs(note.peak_change) <= limits.peak + 1e-9
    assert abs(note.hold_change) <= limits.hold + 1e-9
    assert note.peak_change == 0 or note.hold_change == 0
    assert (note.action == "change") == bool(note.peak_change or note.hold_change)
    steps = note.peak_change / limits.peak_resolution, note.hold_change / limits.hold_resolution
    assert steps == pytest.approx([round(step) for step in steps], abs=1e-9)
    top = find_top(here.segments)
    for index, (was, is_now) in enumerate(zip(here.segments, note.segments, strict=True)):
        if index == top.index:
            assert is_now.rate == was.rate
            assert is_now.target == was.target + note.peak_change
            assert is_now.hold == was.hold + note.hold_change >= 0
        else:
            assert is_now == was
    if note.action == "change":
        assert find_top(note.segments).index == top.index
        assert note.segments[top.index].target <= limits.max_temperature
        assert note.chance_then > note.chance_now
        assert note.reasons
    for chance in (note.chance_now, note.chance_then):
        assert chance is None or 0 <= chance <= 1
    if seed % 10 == 0:
        assert advise(past, here, limits) == note

    # One more "well past" at the schedule's own heat work never turns anything else into "up".
    worse = advise([*past, PastFiring("A", own, 0.1, 2, service_epoch=_epoch(past))], here, limits)
    if direction(note) <= 0:
        assert direction(worse) <= 0


def _epoch(past):
    return max((one.service_epoch for one in past if one.kiln == "A"), default=0)


@pytest.mark.parametrize("first", range(0, 400, 100))
def test_promises_hold_on_random_histories(first):
    for seed in range(first, first + 100):
        check_promises(seed)


@pytest.mark.slow
def test_promises_hold_on_ten_thousand_random_histories():
    for seed in range(1_000, 11_000):
        check_promises(seed)


def test_firings_that_tell_nothing_are_left_out_and_named():
    rng = np.random.default_rng(3)
    here = replace(random_situation(rng), process=None)
    past = [PastFiring("A", work, 0.1, -1, firing=i) for i, work in enumerate(ABSURD_WORK)]
    note = advise(past, here, StepLimits())
    assert note.rests_on == ()
    assert note.reasons[-1].code == "left_out"
    assert note.reasons[-1].firings == tuple(range(len(ABSURD_WORK)))
