"""Every code that the core can emit in a note has words, in both units."""

import ast
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from django.template.loader import render_to_string

import firings.services.advice as advice_module
from firings.services import gates
from firings.services.fault_table import (
    FAULT_ROWS,
    HEAT_WORK_ROWS,
    PATTERN_ROWS,
    FaultRow,
    Try,
)
from firings.services.reasons import Reason
from firings.wording import CAUSES, LEFT_ALONE, SEEN, WORTH_NOTING

ROWS: tuple[FaultRow, ...] = (*FAULT_ROWS, *HEAT_WORK_ROWS, *PATTERN_ROWS)
TRIES = sorted({attempt for row in ROWS for attempt in row.tries}, key=repr)
FIGURES = {
    name: 3.0
    for row in (
        ("missing", "missing_doubt", "change", "repeatability", "gain", "least", "difference"),
        ("firings", "faults", "peak", "limit", "target", "annealing_point"),
    )
    for name in row
}
DETAILS = {"too_little_evidence": ("verdict",), "also_changed": ("mould",)}


def codes_in(tree: ast.AST) -> Iterator[str]:
    """The codes given to `Reason(…)` and to functions that make one, followed to their names."""
    assigned: dict[str, list[ast.expr]] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            assigned.setdefault(node.targets[0].id, []).append(node.value)
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.args):
            continue
        if node.func.id == "Reason" or node.func.id.endswith("_reason"):
            first = node.args[0]
            named = assigned.get(first.id, []) if isinstance(first, ast.Name) else [first]
            for expression in named:
                yield from _texts(expression)


def _texts(expression: ast.expr) -> Iterator[str]:
    if isinstance(expression, ast.IfExp):  # the condition holds no code
        yield from _texts(expression.body)
        yield from _texts(expression.orelse)
    elif isinstance(expression, ast.Constant) and isinstance(expression.value, str):
        yield expression.value


def emitted_codes() -> list[str]:
    found: set[str] = set()
    services = Path(advice_module.__file__).parent
    for path in services.glob("*.py"):
        found.update(codes_in(ast.parse(path.read_text())))
    return sorted(found)


def words_of(template: str, unit: str, **context: object) -> str:
    class Reader:
        pass

    Reader.unit = unit
    return " ".join(render_to_string(template, {"user": Reader, **context}).split())


def test_the_codes_are_found() -> None:
    codes = emitted_codes()

    assert {"missed_plan", "more_heat_work", "less_heat_work", "well_past_at_no_more"} <= set(codes)
    assert len(codes) >= 20


@pytest.mark.parametrize("code", emitted_codes())
@pytest.mark.parametrize("unit", ["C", "F"])
def test_every_reason_has_words(code: str, unit: str) -> None:
    details = DETAILS.get(code, ("crack_rounded", "heated_too_fast"))
    reason = Reason(code, FIGURES, firings=(7,), details=details)

    words = words_of("firings/_reason.html", unit, reason=reason)

    assert len(words) > 25, code
    assert "_" not in words
    assert "°C" not in words or unit == "C"


def test_an_unknown_reason_would_be_silent() -> None:
    """So that the test above can fail."""
    assert words_of("firings/_reason.html", "C", reason=Reason("no_such_code")) == ""


@pytest.mark.parametrize("attempt", TRIES, ids=repr)
@pytest.mark.parametrize("unit", ["C", "F"])
def test_every_first_try_has_words(attempt: Try, unit: str) -> None:
    words = words_of("firings/_try.html", unit, attempt=attempt)

    assert len(words) > 8, attempt.act
    assert "None" not in words
    assert "–" not in words
    assert words_of("firings/_try.html", unit, attempt=replace(attempt, act="nothing")) == ""


def test_every_cause_and_what_is_left_alone_has_words() -> None:
    assert {cause for row in ROWS for cause in row.causes} <= set(CAUSES)
    assert {part for row in ROWS for part in row.leave_alone} <= set(LEFT_ALONE)
    assert {row.seen for row in (*FAULT_ROWS, *HEAT_WORK_ROWS)} <= set(SEEN)


def test_every_thing_worth_noting_has_words() -> None:
    for past in ([], [object.__new__(gates.PastFiring)]):
        for firing in past:
            object.__setattr__(firing, "verdict", None)
            object.__setattr__(firing, "firing", 7)
        assert set(gates.no_evidence(past).details) <= set(WORTH_NOTING)


def test_differences_are_differences_in_fahrenheit() -> None:
    figures = {"missing": 10.0, "missing_doubt": 5.0}

    words = words_of("firings/_reason.html", "F", reason=Reason("more_heat_work", figures))

    assert "about 18 °F at the peak, give or take 9 °F" in words


def test_the_least_gain_is_said_as_a_share() -> None:
    reason = Reason("gain_within_noise", {"gain": 0.018})

    assert "2 %" in words_of("firings/_reason.html", "C", reason=reason)


def test_a_range_of_tries_is_said_once() -> None:
    tries = [Try("raise_peak", 5.0, 5.0), Try("lengthen_hold", 600.0, 1200.0)]

    words = [words_of("firings/_try.html", "C", attempt=attempt) for attempt in tries]

    assert words == ["raise the peak by 5 °C", "hold 10 to 20 min longer at the top"]
