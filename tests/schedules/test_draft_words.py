"""Each reason of a draft, and each refusal, has words."""

import inspect
import re
from typing import Any

import pytest
from django.template.loader import render_to_string

from schedules.queries.drafting import Givens, Refusal
from schedules.services import draft_fitting, drafting
from tests.factories import make_family, make_kiln

SOURCE = inspect.getsource(drafting) + inspect.getsource(draft_fitting)
REASONS = sorted(
    {
        *re.findall(r'Reason\(\s*"(\w+)"', SOURCE),
        *re.findall(r'"(\w+)" if \w+ else "\w+"', SOURCE),
        *re.findall(r'"\w+" if .*? else "(\w+)"', SOURCE),
        *re.findall(r'\("?(?:first|later_stage)"?, "(\w+)"\)', SOURCE),
        "later_stage",
    }
)
REFUSALS = sorted(set(re.findall(r'NoDraftError\(\s*"(\w+)"', SOURCE)))


@pytest.fixture
def givens(db: None) -> Givens:
    return Givens(
        process="tack_fuse",
        kiln=make_kiln(),
        family=make_family(),
        kind=None,
        thickest_mm=9.0,
        thinnest_mm=6.0,
        layers=2,
        width_mm=200.0,
        length_mm=200.0,
        peak=None,
    )


def words(template: str, **context: Any) -> str:
    return " ".join(render_to_string(f"schedules/{template}", context).split())


def test_the_codes_of_the_core_were_found() -> None:
    assert len(REASONS) >= 20
    assert len(REFUSALS) >= 5


@pytest.mark.parametrize("field", ["rate", "target", "hold"])
@pytest.mark.parametrize("code", REASONS)
def test_each_reason_has_words(code: str, field: str, givens: Givens) -> None:
    reason = {"code": code, "figure": 150.0}
    assert len(words("_draft_reason_words.html", reason=reason, field=field, givens=givens)) > 15


@pytest.mark.parametrize("code", REFUSALS)
def test_each_refusal_has_words(code: str, givens: Givens) -> None:
    refusal = Refusal(givens, code, 0.9, [])
    assert len(words("_draft_refusal_words.html", refusal=refusal)) > 40
