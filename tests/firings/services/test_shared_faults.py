"""Whose a shared fault is, on terms whose causes are known."""

import numpy as np
import pytest
from scipy.stats import permutation_test

from firings.services.shared_faults import SeenPiece, SharedFault, _Firings, shared_faults

KILNS, SCHEDULES = ("Heron", "Wren", "Ouzel"), ("fuse", "tack", "slump", "polish")
USUAL = 0.06


def a_term(
    seed: int,
    *,
    bad_kiln: str | None = None,
    bad_schedule: str | None = None,
    bad: float = 0.45,
    together: bool = False,
) -> list[SeenPiece]:
    """Thirty students, twelve weeks, six firings a week of three to six pieces."""
    random = np.random.default_rng(seed)
    seen = []
    for firing in range(72):
        kiln = str(random.choice(KILNS))
        schedule = str(random.choice(SCHEDULES))
        if together:
            schedule = SCHEDULES[KILNS.index(kiln)]
        # A load shares its luck: each firing has a chance of its own about the usual one.
        chance = random.beta(USUAL * 12, (1 - USUAL) * 12)
        if kiln == bad_kiln or schedule == bad_schedule:
            chance = random.beta(bad * 12, (1 - bad) * 12)
        for maker in random.choice(30, size=random.integers(3, 7), replace=False):
            faults = {"bubble"} if random.random() < chance else set()
            if random.random() < USUAL:
                faults.add("haze")
            seen.append(SeenPiece(firing, kiln, schedule, int(maker), frozenset(faults)))
    return seen


def causes(found: list[SharedFault]) -> list[tuple[str, str]]:
    return [(one.kind, one.cause) for one in found]


def test_a_kilns_fault_is_found_and_the_schedules_are_not_blamed() -> None:
    for seed in range(60):
        found = shared_faults(a_term(seed, bad_kiln="Wren"))
        assert causes(found)[:1] == [("bubble", "kiln")]
        assert found[0].kiln == "Wren"
        assert ("bubble", "schedule") not in causes(found)


def test_four_times_the_usual_is_found_in_most_terms() -> None:
    found = [shared_faults(a_term(seed, bad_kiln="Wren", bad=0.25)) for seed in range(60)]
    right = sum(causes(one)[:1] == [("bubble", "kiln")] for one in found)
    assert right >= 45


def test_a_schedules_fault_is_found_and_the_kilns_are_not_blamed() -> None:
    blamed = 0
    for seed in range(60):
        found = shared_faults(a_term(seed, bad_schedule="tack"))
        assert causes(found)[:1] == [("bubble", "schedule")]
        assert found[0].schedule == "tack"
        blamed += ("bubble", "kiln") in causes(found)
    assert blamed <= 1


def test_a_schedule_fired_in_one_kiln_only_leaves_it_open() -> None:
    for seed in range(20):
        found = shared_faults(a_term(seed, bad_kiln="Wren", together=True))
        assert causes(found)[:1] == [("bubble", "kiln_or_schedule")]
        assert (found[0].kiln, found[0].schedule) == ("Wren", "tack")


def test_an_ordinary_term_seldom_raises_anything() -> None:
    alarms = sum(bool(shared_faults(a_term(seed))) for seed in range(300))
    assert alarms <= 15, "5 in 100 terms, all kilns, schedules, firings and both faults together"


def test_one_bad_firing_is_not_the_kilns() -> None:
    term = a_term(3)
    number = 1000
    term += [SeenPiece(number, "Heron", "fuse", m, frozenset({"crack"})) for m in range(6)]
    found = [one for one in shared_faults(term) if one.kind == "crack"]
    assert causes(found) == [("crack", "firing")]
    assert (found[0].firing, found[0].pieces, found[0].of, found[0].makers) == (number, 6, 6, 6)


def test_one_persons_fault_is_not_shared() -> None:
    term = [SeenPiece(n, "Heron", "fuse", 1, frozenset({"crack"})) for n in range(20)]
    term += [SeenPiece(50 + n, "Wren", "fuse", 2 + n) for n in range(20)]
    assert shared_faults(term) == []


def test_counts_are_those_of_the_pieces() -> None:
    bad = [SeenPiece(n, "Heron", n % 2, n % 4, frozenset({"haze"})) for n in range(6)]
    good = [SeenPiece(10 + n, "Wren", n % 2, n % 4) for n in range(10)]
    one = SeenPiece(99, "Wren", 0, 9, frozenset({"haze"}))
    (found,) = shared_faults([*bad, *good, one])
    assert (found.pieces, found.of, found.makers, found.firings) == (6, 6, 4, 6)
    assert (found.elsewhere, found.elsewhere_of) == (1, 11)


def test_nothing_seen_nothing_said() -> None:
    assert shared_faults([]) == []


def test_strength_is_that_of_a_permutation_test() -> None:
    """Against scipy's own: kilns dealt to the firings by chance, one schedule."""
    term = a_term(11, bad_kiln="Heron", bad=0.2)
    firings = _Firings(term, "bubble")
    there = firings.mask("kiln", "Heron")
    dealt = permutation_test(
        (firings.score[there], firings.score[~there]),
        lambda a, b, axis: np.sum(a, axis=axis),
        vectorized=True,
        n_resamples=20_000,
        rng=np.random.default_rng(0),
        alternative="greater",
    )
    spread = dealt.null_distribution.std()
    middle = dealt.null_distribution.mean()
    strength = firings.strength("kiln", "Heron", None)
    assert strength == pytest.approx((dealt.statistic - middle) / spread, rel=0.03)
