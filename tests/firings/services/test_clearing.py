from itertools import combinations

import pytest

from firings.services.clearing import (
    PARTS,
    Decided,
    Standing,
    changed_parts,
    may_start,
    seen_digest,
    standing_of,
)


def digest(**parts: object) -> str:
    return seen_digest({"schedule": 1, "keyed": (), "kiln": 1, "load": ()} | parts)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("decision", "seen_now", "standing"),
    [
        (None, "a", "waiting"),
        ("cleared", "a", "cleared"),
        ("cleared", "b", "changed"),
        ("overridden", "a", "let_go"),
        ("overridden", "b", "changed"),
        ("returned", "a", "returned"),
        ("returned", "b", "waiting"),
    ],
)
def test_standing(decision: str | None, seen_now: str, standing: Standing) -> None:
    latest = None if decision is None else Decided(decision, "a")
    assert standing_of(asked=True, latest=latest, seen_now=seen_now) == standing
    assert standing_of(asked=False, latest=latest, seen_now=seen_now) == "not_asked"


def test_only_what_was_cleared_let_go_or_never_asked_may_start() -> None:
    every: list[Standing] = ["not_asked", "waiting", "returned", "changed", "cleared", "let_go"]
    assert [one for one in every if may_start(one)] == ["not_asked", "cleared", "let_go"]


@pytest.mark.parametrize("changed", [one for n in range(5) for one in combinations(PARTS, n)])
def test_what_changed_is_told(changed: tuple[str, ...]) -> None:
    assert changed_parts(digest(), digest(**dict.fromkeys(changed, "other"))) == changed


def test_a_digest_is_always_as_long() -> None:
    assert len(digest()) == len(digest(load=tuple(range(1000)))) == 64
