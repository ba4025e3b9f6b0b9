"""Every code that watching a firing can emit has words, and the gravest have the right ones."""

from pathlib import Path
from typing import get_args

import pytest
from django.conf import settings
from django.template.loader import render_to_string

from firings.models import Firing
from firings.services.plan_place import Noted
from firings.services.power_cut import Act, Recovery
from firings.services.standing import Code, Standing
from firings.services.watching import Moment
from schedules.services.curve import Segment
from studio.models import Person
from tests.factories import make_firing, make_kiln


def told(code: Code) -> str:
    """Its words, with a spread within which the difference is usual where the code says so."""
    return words(code, spread=7.0 if code.endswith("_usual") else 5.0)


def words(code: Code, *, difference: float = -12.0, **facts: object) -> str:
    usual = {"spread": 5.0, "is_learnt": True, "delay": 1500.0, "share": 1 / 3, "ceiling": 804.0}
    standing = Standing(code, Noted(3600.0, 300.0 + difference), 300.0, **usual | facts)  # type: ignore[arg-type]
    page = {"standing": standing, "kiln": {"name": "Heron"}, "unit": "C"}
    text = " ".join(render_to_string("firings/_standing.html", page).split())
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize("code", get_args(Code))
def test_every_standing_has_words_of_its_own(code: Code) -> None:
    others = [told(other) for other in get_args(Code) if other != code]
    said = told(code)
    assert len(said) >= len("On its plan.")
    assert said not in others
    assert not said.startswith("12 °C") or " plan" in said


def test_usual_or_more_than_that() -> None:
    assert words("behind_usual", spread=7.0) == "12 °C behind plan, usual for this kiln here."
    assert words("behind") == "12 °C behind plan, more than is usual for this kiln here."
    assert words("behind", is_learnt=False).endswith("the doubt of this kiln’s keyed figures.")


def test_falling_behind_sends_nobody_into_a_live_kiln() -> None:
    said = words("falling_behind")
    assert "33 % of its usual" in said
    assert "cold kiln checked by a qualified person with its supply isolated" in said


@pytest.mark.parametrize("code", ["runaway", "hot"])
def test_too_hot_is_switched_off_and_never_ahead(code: Code) -> None:
    said = words(code, difference=40.0).lower()
    assert "at the isolator or the plug" in said
    assert "open" in said
    assert "ahead" not in said


@pytest.mark.parametrize("code", get_args(Moment))
def test_every_moment_has_the_same_words_with_and_without_script(code: Moment) -> None:
    said = render_to_string("firings/_due.html", {"code": code}).strip()
    assert said
    assert f'{code}: "{said}"' in Path(settings.BASE_DIR, "static/js/watch.js").read_text()


@pytest.mark.parametrize("act", get_args(Act))
def test_every_act_after_a_power_cut_has_words(act: Act, artist: Person) -> None:
    kiln = make_kiln()
    firing: Firing = make_firing(artist, kiln=kiln, state="firing")
    segments = () if act == "let_cool" else (Segment(150.0, 540.0),)
    back = {
        "recovery": Recovery(act, segments, 150.0),
        "at": firing.started_at,
        "temperature_c": 300.0,
        "event": {"minutes": 40},
    }
    said = render_to_string(
        "firings/power_cut.html", {"back": back, "firing": firing, "form": "", "form_key": ""}
    )
    heads = {
        "carry_on": "Carry on from here",
        "restart_slowly": "Restart slowly",
        "anneal_again": "Anneal again",
        "let_cool": "Let it cool",
    }
    assert [head for head in heads.values() if head in said] == [heads[act]]
