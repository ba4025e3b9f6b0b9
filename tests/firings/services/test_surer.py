"""What one more judged firing would do, against the doubt that it really leaves."""

from dataclasses import replace

import numpy as np
import pytest

from firings.services.evidence import UNCERTAINTIES, PastFiring, Situation
from firings.services.placing import placed_firings
from firings.services.surer import doubt_after, what_would_help
from firings.services.weighing import weigh
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

FUSE = [Segment(200.0, 804.0, 600.0), Segment(None, 510.0, 3600.0)]
HERE = Situation(FUSE, KilnResponse(1100.0, 7200.0, 10800.0), Glass(), "A")
WORK = planned_curve(FUSE, HERE.response).heat_work(HERE.glass)


def test_the_doubt_foretold_is_the_mean_of_what_each_verdict_would_leave() -> None:
    history = weigh([PastFiring("A", WORK * 0.8, 0.1, -1)], HERE)
    uncertainty = UNCERTAINTIES["full_recording"]
    own = history.terms.own
    chances = history.beliefs.chances(np.array([own]), uncertainty)[0]
    left = [
        weigh([*history.past, PastFiring("A", WORK, uncertainty, verdict)], HERE).beliefs.doubt
        for verdict in range(-2, 3)
    ]

    foretold = doubt_after(history.beliefs, own, uncertainty)

    # The model rounds uncertainties up to a power of 1.3 and the grid to its step.
    assert foretold == pytest.approx(float(chances @ left), rel=0.03)


def test_the_better_a_firing_is_recorded_the_more_it_helps() -> None:
    surer = what_would_help(weigh([PastFiring("A", WORK, 0.1, -1)], HERE))
    then = surer.doubt_then

    assert then["full_recording"] < then["peak_and_duration"] < then["plan_only"] < surer.doubt
    assert surer.narrows


def test_after_many_firings_one_more_hardly_helps() -> None:
    many = [PastFiring("A", WORK * factor, 0.05, 0) for factor in (0.9, 1.0, 1.1)] * 60
    surer = what_would_help(weigh(many, HERE))

    assert not surer.narrows


def test_what_waits_for_a_verdict_and_kilns_without_an_offset_are_named() -> None:
    past = [
        PastFiring("A", WORK, 0.1, None, firing=1),
        PastFiring("B", WORK, 0.1, 0, firing=2),
        PastFiring("C", WORK, 0.1, 0, firing=3),
        PastFiring("B", WORK, 0.1, None, firing=4),
    ]
    surer = what_would_help(weigh(past, replace(HERE, offsets={"C": 3.0})))

    assert (surer.waiting, surer.kilns) == ((1,), ("B",))


def test_firings_are_placed_by_the_peak_that_does_as_much() -> None:
    hotter = planned_curve([replace(FUSE[0], target=810.0), FUSE[1]], HERE.response)
    past = [
        PastFiring("A", hotter.heat_work(HERE.glass), 0.1, None, firing=1),
        PastFiring("B", WORK, 0.1, 0, firing=2),
        PastFiring("A", float("nan"), 0.1, 0, firing=3),
        PastFiring("A", WORK, 0.1, 0),
    ]
    placed = placed_firings(weigh(past, replace(HERE, offsets={"B": 5.0})))

    assert set(placed) == {1, 2}
    assert placed[1].difference == pytest.approx(6.0, abs=0.05)
    assert placed[2].peak == pytest.approx(809.0, abs=0.05)
    assert (placed[1].here, placed[2].here) == (True, False)
    assert placed[2].doubt > placed[1].doubt
    assert placed[1].expected > 0


def test_a_verdict_lent_to_place_a_firing_is_no_evidence() -> None:
    unjudged = PastFiring("A", WORK, 0.1, None, firing=1)
    history = weigh([unjudged], HERE)
    before = history.beliefs.wanted

    placed_firings(history)

    assert history.beliefs.wanted == before == pytest.approx(weigh([], HERE).beliefs.wanted)
