"""The style page is held to the style sheet: what the one has, the other shows."""

import re
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.test import Client

from studio.models import Person
from studio.views.style import TOKENS

SHEET = Path(settings.BASE_DIR, "static/css/workbook.css").read_text()

# What arranges a whole page, belongs to a width or to a state, or shows nothing of itself.
ELSEWHERE = {"two", "broad", "narrow", "stays", "chart", "desk", "phone", "waits", "htmx-request"}
ELSEWHERE |= {"skip", "jump", "unseen", "noprint", "inline", "errorlist"}


def test_every_colour_token_is_shown() -> None:
    light = SHEET.partition(":root {")[2].partition("}")[0]
    colours = set(re.findall(r"--([a-z-]+): #", light))

    assert {token.name for token in TOKENS} == colours


def test_every_component_is_shown(keeper: Person, signed_in: Callable[[Person], Client]) -> None:
    without_comments = re.sub(r"/\*.*?\*/", "", SHEET, flags=re.DOTALL)
    selectors = re.findall(r"([^{}]+)\{", without_comments)
    named = {name for rule in selectors for name in re.findall(r"\.([a-z][a-z-]*)", rule)}

    page = signed_in(keeper).get("/style/").text

    shown = {name for classes in re.findall(r'class="([^"]+)"', page) for name in classes.split()}
    assert named - ELSEWHERE - shown == set()
