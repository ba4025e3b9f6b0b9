from dataclasses import replace

import numpy as np
import pytest

from firings.services.advice import PastFiring, Situation, StepLimits, advise
from firings.services.exchange_fit import SPREAD
from firings.services.top import GlassTerms, with_top
from firings.services.weighing import weigh
from schedules.services.curve import Segment, planned_curve
from studio.services.glass import Glass
from studio.services.kiln_response import KilnResponse

KILN = KilnResponse(1150.0, 7000.0, 11000.0)
SEGMENTS = [Segment(300.0, 780.0, 1800.0), Segment(None, 510.0, 3600.0)]
HERE = Situation(SEGMENTS, KILN, Glass(), "A")


def judged_by(factor, tops, noise=0.25):
    """Firings of these tops, judged by a glass whose exchange differs by a factor."""
    truth = GlassTerms(HERE, factor)
    rng = np.random.default_rng(2)
    past = []
    for number, (peak, hold) in enumerate(tops):
        judged = 4.0 * (float(truth.of_top(peak, hold)) - truth.own) + rng.normal(0.0, noise)
        work = planned_curve(with_top(SEGMENTS, peak, hold), KILN).heat_work(Glass())
        verdict = int(np.clip(np.round(judged), -2, 2))
        past.append(PastFiring("A", work, 0.05, verdict, firing=number, hold=hold))
    return past


# Hot and short, cool and long: what tells a minute from a degree.
TOPS = [(780.0, 1800.0), (800.0, 300.0), (792.0, 600.0), (762.0, 5400.0), (755.0, 7200.0)] * 5


@pytest.mark.parametrize("factor", [0.75, 1.35])
def test_a_studios_own_exchange_is_learnt(factor):
    fit = weigh(judged_by(factor, TOPS), HERE).exchange
    assert fit is not None
    assert abs(np.log(fit.factor / factor)) < 2 * fit.doubt + 0.05
    assert (fit.factor - 1) * (factor - 1) > 0
    assert fit.doubt < SPREAD


def test_the_glasss_own_exchange_stays_about_what_it_is():
    fit = weigh(judged_by(1.0, TOPS), HERE).exchange
    assert fit.factor == pytest.approx(1.0, abs=0.1)


def test_firings_of_one_hold_carry_no_exchange():
    tops = [(peak, 1800.0) for peak in (770.0, 780.0, 790.0)] * 8
    assert weigh(judged_by(1.35, tops), HERE).exchange is None


def test_a_few_firings_carry_no_exchange():
    assert weigh(judged_by(1.35, TOPS[:3]), HERE).exchange is None


def test_firings_without_a_known_hold_carry_no_exchange():
    past = [replace(one, hold=None) for one in judged_by(1.35, TOPS)]
    assert weigh(past, HERE).exchange is None


def test_the_note_says_that_it_goes_by_the_studios_own_exchange():
    note = advise(judged_by(1.35, TOPS), HERE, StepLimits())
    (learnt,) = [reason for reason in note.reasons if reason.code == "exchange_learnt"]
    assert note.exchange == pytest.approx(learnt.figures["exchange"])
    assert learnt.figures["exchange"] < learnt.figures["by_viscosity"]
