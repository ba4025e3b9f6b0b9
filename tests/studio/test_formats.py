import re

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from studio import formats
from studio.formats import plain
from studio.models import Person
from tests.factories import make_kiln, make_revision, make_schedule


@pytest.mark.parametrize(
    ("value_c", "unit", "text"),
    [(804.0, "C", "804 °C"), (804.444, "F", "1480 °F"), (-12.0, "C", "−12 °C")],
)
def test_temperature(value_c: float, unit: str, text: str) -> None:
    assert plain(formats.temperature(value_c, unit)) == text


@pytest.mark.parametrize(
    ("delta_c", "unit", "text"),
    [(10.0, "F", "+18 °F"), (-2.0, "C", "−2 °C"), (0.2, "C", "0 °C"), (-0.2, "C", "0 °C")],
)
def test_a_difference_is_signed_and_never_shifted_by_32(
    delta_c: float, unit: str, text: str
) -> None:
    assert plain(formats.temperature_difference(delta_c, unit)) == text


def test_rate() -> None:
    assert plain(formats.rate(111.1111, "F")) == "200 °F/h"
    assert plain(formats.rate(6.7, "C", 1)) == "6.7 °C/h"
    assert plain(formats.rate(None, "C")) == "full power"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "0 min"), (2280, "38 min"), (57900, "16 h 05"), (-2700, "−45 min"), (3599, "1 h 00")],
)
def test_duration(seconds: float, text: str) -> None:
    assert plain(formats.duration(seconds)) == text


def test_duration_difference_is_signed() -> None:
    assert plain(formats.duration_difference(2700)) == "+45 min"
    assert plain(formats.duration_difference(12)) == "0 min"


@pytest.mark.parametrize(("value", "text"), [(6.70, "6.7"), (-0.001, "0"), (10.0, "10")])
def test_a_number_has_no_trailing_zeros(value: float, text: str) -> None:
    assert formats.number(value, 2) == text


@pytest.mark.parametrize(
    "text",
    [
        formats.temperature(804.0, "C"),
        formats.temperature_difference(-2.0, "F"),
        formats.temperature_span(1.5, "C", 1),
        formats.rate(111.0, "C"),
        formats.duration(2280),
        formats.duration(57900),
        formats.duration_difference(57900),
        formats.hold(90),
        formats.percent(0.14),
        formats.percent_difference(0.04),
    ],
)
def test_no_line_ends_between_a_number_and_its_unit(text: str) -> None:
    assert formats.NO_BREAK in text
    assert not any(sign.isspace() for sign in text.replace(formats.NO_BREAK, ""))


def test_a_page_keeps_numbers_and_units_together(artist: Person) -> None:
    revision = make_revision(make_schedule(artist), written_for=make_kiln())
    client = Client()
    client.force_login(artist, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("schedules:schedule_detail", args=[revision.schedule_id])
    text = client.get(address).text
    assert f"<dt>Peak</dt><dd>804{formats.NO_BREAK}°C</dd>" in text
    assert f"<td>1{formats.NO_BREAK}h{formats.NO_BREAK}00</td>" in text


def test_no_template_puts_an_ordinary_space_before_a_unit() -> None:
    """`&nbsp;` in HTML, `|in_unit:"mm"` where words are text."""
    broken = re.compile(r"(?:\}\}|%\}|\d) (?:mm|min|h|s|°C|°F|kWh|kW|MPa|kg|%)(?![\w%}])")
    pages = settings.BASE_DIR.glob("templates/**/*.html")
    found = {
        f"{page.name}: {match[0]}"
        for page in pages
        if not page.name.startswith("_style")
        for match in broken.finditer(page.read_text())
    }
    assert found == set()
