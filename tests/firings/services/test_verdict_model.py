from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from firings.services.verdict_model import (
    CUT_POINTS,
    SITTING_SHARE,
    SLIP,
    Doubt,
    Judgement,
    infer,
    log_chances,
)

SLOPE, NOISE = np.array([4.0]), np.array([0.4])
DOUBT = Doubt(target=0.45, kiln=0.28, service=0.14, apart={"corner": 0.1})

judgements = st.builds(
    Judgement,
    ln_heat_work=st.floats(-1.6, 1.6),
    uncertainty=st.floats(0.0, 0.6),
    verdict=st.integers(-2, 2),
    kiln=st.sampled_from(["A", "B", "C"]),
    service_epoch=st.integers(0, 2),
    apart=st.sampled_from([None, None, "corner"]),
    sitting=st.sampled_from([None, None, "tiles"]),
)


def wanted(history, kiln="A", epoch=2):
    beliefs = infer(history, 0.0, DOUBT, kiln, service_epoch=epoch, slopes=SLOPE, noises=NOISE)
    return beliefs.wanted


def chance_by_definition(verdict, distance, spread):
    edges = [-np.inf, *CUT_POINTS, np.inf]
    low, high = edges[verdict + 2], edges[verdict + 3]
    seen = norm.cdf((high - 4.0 * distance) / spread) - norm.cdf((low - 4.0 * distance) / spread)
    return (1 - SLIP) * seen + SLIP / 5


def test_chances_of_the_five_verdicts_sum_to_one():
    chances = np.exp(log_chances(np.linspace(-3, 3, 7), SLOPE, NOISE, 0.2))
    assert chances.sum(axis=0) == pytest.approx(np.ones((7, 1, 1)), abs=1e-12)


def test_chances_are_symmetric_about_what_is_wanted():
    chances = log_chances([-0.3, 0.3], SLOPE, NOISE)
    assert chances[:, 0] == pytest.approx(chances[::-1, 1], abs=1e-12)


def test_an_uncertain_heat_work_flattens_the_chances():
    sure, unsure = (np.exp(log_chances([0.0], SLOPE, NOISE, u))[2, 0, 0, 0] for u in (0.0, 0.3))
    assert unsure < sure


def test_posterior_agrees_with_quadrature_in_the_own_kiln():
    history = [Judgement(0.1, 0.1, -1, "A"), Judgement(0.4, 0.1, 1, "A")]
    # The grid rounds 0.1 up to its own step of uncertainty, at most by 30 %.
    u = 0.02 * 1.3 ** np.ceil(np.log(0.1 / 0.02) / np.log(1.3))
    spread = np.hypot(0.4, 4.0 * u)

    def density(target):
        likelihood = [
            chance_by_definition(j.verdict, j.ln_heat_work - target, spread) for j in history
        ]
        return np.prod(likelihood) * norm.pdf(target, 0.0, DOUBT.target)

    mean = quad(lambda m: m * density(m), -2, 2)[0] / quad(density, -2, 2)[0]
    beliefs = infer(history, 0.0, DOUBT, "A", slopes=SLOPE, noises=NOISE)
    assert beliefs.wanted == pytest.approx(mean, abs=2e-3)


def test_posterior_agrees_with_quadrature_over_another_kilns_offset():
    history = [Judgement(0.3, 0.02, -1, "B"), Judgement(0.5, 0.02, 0, "B")]
    spread = np.hypot(0.4, 4.0 * 0.02)
    shift = np.hypot(DOUBT.kiln, DOUBT.service)  # one epoch of another kiln
    targets, offsets = np.linspace(-1.8, 1.8, 601)[:, None], np.linspace(-1.2, 1.2, 401)
    density = norm.pdf(targets, 0.0, DOUBT.target) * norm.pdf(offsets, 0.0, shift)
    for judgement in history:
        distance = judgement.ln_heat_work - (targets - offsets)
        density = density * chance_by_definition(judgement.verdict, distance, spread)
    mean = float((targets * density).sum() / density.sum())
    beliefs = infer(history, 0.0, DOUBT, "A", slopes=SLOPE, noises=NOISE)
    assert beliefs.wanted == pytest.approx(mean, abs=3e-3)


def test_another_kiln_tells_less_than_the_own():
    own = infer([Judgement(0.0, 0.1, -1, "A")], 0.0, DOUBT, "A")
    other = infer([Judgement(0.0, 0.1, -1, "B")], 0.0, DOUBT, "A")
    assert 0 < other.wanted < own.wanted
    assert own.doubt < other.doubt


def test_many_firings_in_another_kiln_leave_its_offset_open():
    history = [Judgement(0.2, 0.05, 0, "B")] * 60
    beliefs = infer(history, 0.0, DOUBT, "A")
    # What the offset leaves open: two normals, known in their difference only.
    shift = np.hypot(DOUBT.kiln, DOUBT.service)
    left = shift * DOUBT.target / np.hypot(shift, DOUBT.target)
    assert beliefs.doubt == pytest.approx(left, rel=0.1)


def test_many_firings_at_another_place_leave_its_shift_open():
    history = [Judgement(0.2, 0.05, 0, "A", apart="corner")] * 60
    beliefs = infer(history, 0.0, DOUBT, "A")
    left = 0.1 * DOUBT.target / np.hypot(0.1, DOUBT.target)
    assert beliefs.doubt == pytest.approx(left, rel=0.2)


def test_posterior_agrees_with_quadrature_over_what_a_sitting_shares():
    u = 0.02
    history = [
        Judgement(at, u, verdict, "A", sitting="tiles")
        for at, verdict in ((-0.1, -1), (0.15, 0), (0.4, 1))
    ]
    own = np.hypot(NOISE[0] * np.sqrt(1 - SITTING_SHARE), SLOPE[0] * u)
    shared = NOISE[0] * np.sqrt(SITTING_SHARE) / SLOPE[0]
    targets, shifts = np.linspace(-1.8, 1.8, 1801)[:, None], np.linspace(-0.35, 0.35, 201)
    density = norm.pdf(targets, 0.0, DOUBT.target) * norm.pdf(shifts, 0.0, shared)
    for judgement in history:
        distance = judgement.ln_heat_work - (targets - shifts)
        density = density * chance_by_definition(judgement.verdict, distance, own)
    mean = float((targets * density).sum() / density.sum())
    away = float(np.sqrt(((targets - mean) ** 2 * density).sum() / density.sum()))
    beliefs = infer(history, 0.0, DOUBT, "A", slopes=SLOPE, noises=NOISE)
    assert beliefs.wanted == pytest.approx(mean, abs=3e-3)
    assert beliefs.doubt == pytest.approx(away, rel=0.02)


def test_a_verdict_beside_no_other_is_as_any_to_the_last_bit():
    history = [
        Judgement(0.1 * number, 0.1, number - 1, kiln, apart=apart)
        for number, (kiln, apart) in enumerate([("A", None), ("A", "corner"), ("B", None)])
    ]
    alone = [replace(one, sitting=number) for number, one in enumerate(history)]
    plain, named = infer(history, 0.0, DOUBT, "A"), infer(alone, 0.0, DOUBT, "A")
    assert np.array_equal(plain.probability, named.probability)
    assert plain.log_evidence == named.log_evidence


def test_many_verdicts_of_one_sitting_leave_what_they_share_open():
    history = [
        Judgement(at, 0.02, verdict, "A", sitting="tiles")
        for at, verdict in ((-0.125, -1), (-0.12, 0), (0.12, 0), (0.125, 1))
    ] * 30
    together = infer(history, 0.0, DOUBT, "A", slopes=SLOPE, noises=NOISE)
    by_themselves = [replace(one, sitting=None) for one in history]
    apart = infer(by_themselves, 0.0, DOUBT, "A", slopes=SLOPE, noises=NOISE)
    shared = NOISE[0] * np.sqrt(SITTING_SHARE) / SLOPE[0]
    left = shared * DOUBT.target / np.hypot(shared, DOUBT.target)
    assert together.doubt == pytest.approx(left, rel=0.2)
    assert apart.doubt < 0.5 * left


def test_a_sitting_tells_a_slope_better_than_days_apart():
    history = [
        Judgement(at, 0.02, verdict, "A", sitting="tiles")
        for at, verdict in ((-0.5, -2), (-0.25, -1), (0.0, 0), (0.25, 1), (0.5, 2))
    ]

    def slope_doubt(judged):
        beliefs = infer(judged, 0.0, DOUBT, "A")
        weights = beliefs.probability.sum(axis=(0, 2))
        mean = weights @ beliefs.slopes
        return np.sqrt(weights @ (beliefs.slopes - mean) ** 2)

    apart = [replace(one, sitting=None) for one in history]
    assert slope_doubt(history) < slope_doubt(apart)


def test_evidence_of_a_sitting_is_the_chance_of_its_verdicts_beforehand():
    first, second = (Judgement(at, 0.1, 0, "A", sitting="tiles") for at in (0.1, 0.3))
    each = [
        infer([replace(first, verdict=v), second], 0.0, DOUBT, "A").log_evidence
        for v in (-2, -1, 0, 1, 2)
    ]
    alone = infer([second], 0.0, DOUBT, "A").log_evidence
    assert np.exp(each).sum() == pytest.approx(np.exp(alone), rel=5e-3)


def test_evidence_is_the_chance_of_the_verdicts_beforehand():
    history = [Judgement(0.1, 0.1, verdict, "A") for verdict in (-1, 0)]
    each = [
        infer([replace(history[0], verdict=v), history[1]], 0.0, DOUBT, "A").log_evidence
        for v in (-2, -1, 0, 1, 2)
    ]
    alone = infer([history[1]], 0.0, DOUBT, "A").log_evidence
    assert np.exp(each).sum() == pytest.approx(np.exp(alone), rel=5e-3)


def test_a_firing_before_a_service_tells_less():
    before = Judgement(0.0, 0.05, 0, "A", service_epoch=0)
    doubts = [infer([before], 0.0, DOUBT, "A", service_epoch=epoch).doubt for epoch in (0, 1, 3)]
    assert doubts == sorted(doubts)
    assert doubts[0] < doubts[2]


def test_contradicting_verdicts_raise_the_noise():
    alike = [Judgement(0.0, 0.05, 0, "A")] * 6
    apart = [Judgement(0.0, 0.05, verdict, "A") for verdict in (-2, 2, -1, 1, -2, 2)]

    def noise(history):
        beliefs = infer(history, 0.0, DOUBT, "A")
        return float(beliefs.probability.sum(axis=(0, 1)) @ beliefs.noises)

    assert noise(apart) > noise(alike)


def test_chances_agree_with_a_sum_over_the_posterior():
    beliefs = infer([Judgement(0.1, 0.1, -1, "A")], 0.0, DOUBT, "A")
    node = float(beliefs.targets[70])
    each = np.exp(log_chances(node - beliefs.targets, beliefs.slopes, beliefs.noises, 0.05))
    by_hand = (each * beliefs.probability).sum(axis=(1, 2, 3))
    assert beliefs.chances([node], 0.05)[0] == pytest.approx(by_hand, abs=1e-12)


@settings(deadline=None, max_examples=150)
@given(st.lists(judgements, max_size=12), judgements, st.sampled_from(["A", "B", "C"]))
def test_one_more_well_past_never_raises_what_is_wanted(history, more, kiln):
    """For a fixed slope and noise, in whichever kiln it came and whichever kiln is asked."""
    past = replace(more, verdict=2)
    assert wanted([*history, past], kiln) <= wanted(history, kiln) + 1e-9


@settings(deadline=None, max_examples=50)
@given(st.lists(judgements, max_size=12))
def test_the_order_of_firings_changes_nothing(history):
    assert wanted(history) == pytest.approx(wanted(history[::-1]), abs=1e-9)
