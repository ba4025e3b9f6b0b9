"""The acts on the rows of the editor: one handler, with and without script."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from schedules.forms.segments import MOST_SEGMENTS, rearranged
from schedules.models import Schedule
from studio.models import FormReceipt, GlassFamily, Person
from tests.factories import make_family, make_kiln, make_revision, make_schedule
from tests.schedules.editor_forms import FUSE, revision_sent, schedule_sent

SignIn = Callable[[Person], Client]
URL = reverse("schedules:schedule_add")
HX = {"HX-Request": "true"}


@pytest.fixture
def family(db: None) -> GlassFamily:
    return make_family()


def numbered(count: int) -> list[dict[str, str]]:
    return [{"rate": "", "target": str(number), "hold": ""} for number in range(count)]


@pytest.mark.parametrize(
    ("do", "order", "focus"),
    [
        ("up-2", ["0", "2", "1"], (1, "up")),
        ("down-0", ["1", "0", "2"], (1, "down")),
        ("remove-1", ["0", "2"], (1, "rate")),
        ("remove-2", ["0", "1"], (1, "rate")),
        ("add-0", ["0", "", "1", "2"], (1, "rate")),
        ("add", ["0", "1", "2", ""], (3, "rate")),
        ("up-0", ["0", "1", "2"], (-1, "")),
        ("down-2", ["0", "1", "2"], (-1, "")),
        ("remove-9", ["0", "1", "2"], (-1, "")),
        ("melt-1", ["0", "1", "2"], (-1, "")),
        ("up-−1", ["0", "1", "2"], (-1, "")),
        ("preview", ["0", "1", "2"], (-1, "")),
    ],
)
def test_acts_on_rows(do: str, order: list[str], focus: tuple[int, str]) -> None:
    rows, row, part = rearranged(numbered(3), do)
    assert [each["target"] for each in rows] == order
    assert (row, part) == focus


def test_rows_have_an_end() -> None:
    rows, _, _ = rearranged(numbered(MOST_SEGMENTS), "add")
    assert len(rows) == MOST_SEGMENTS


def test_first_row_can_be_added_to_none() -> None:
    assert rearranged([], "add")[0] == [{"rate": "", "target": "", "hold": ""}]
    assert rearranged(numbered(1), "remove-0")[0] == []


def test_without_script_the_page_comes_back_with_everything_typed(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    sent = schedule_sent(family.pk, [("fast", "540", ""), FUSE[1]], name="Half a na", do="down-0")
    response = signed_in(artist).post(URL, sent)
    text = response.content.decode()
    assert "<html" in text
    assert 'value="Half a na"' in text
    assert f'<option value="{family.pk}" selected>' in text
    assert "Keep an eye on the corners." in text
    targets = [form["target"].value() for form in response.context["editor"].segments.forms]
    assert targets == ["804", "540"]
    assert 'value="fast"' in text
    assert "This field is required" not in text
    assert not Schedule.objects.exists()


def test_with_script_the_rows_come_back_with_the_preview(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    make_kiln()
    response = signed_in(artist).post(URL, schedule_sent(family.pk, do="add-0"), headers=HX)
    text = response.content.decode()
    assert "<html" not in text
    assert 'id="segments"' in text
    assert 'hx-swap-oob="outerHTML"' in text
    assert text.count("<li>") == 4


def test_preview_draws_what_can_be_read_and_says_what_is_missing(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    make_kiln("Heron")
    rows = [FUSE[0], ("33x", "804", ""), ("150", "", "")]
    response = signed_in(artist).post(URL, schedule_sent(family.pk, rows, do="preview"), headers=HX)
    text = response.content.decode()
    assert text.count("<section") == 1
    assert "The curve in Heron" in text
    assert 'class="planned"' in text
    assert "Segment 2 is left out." in text
    assert "Segment 3 is left out." in text
    # The rows, in one of which somebody types, stay; what speaks against them is brought anew.
    assert 'id="segments"' not in text
    assert text.count("hx-swap-oob") == len(rows) + 2


def test_preview_remarks_on_what_the_kiln_cannot_do(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln("Ember", max_temperature_c=700)
    sent = schedule_sent(family.pk, FUSE, kiln, do="preview")
    assert "700 °C" in signed_in(artist).post(URL, sent, headers=HX).content.decode()


def test_preview_counts_the_rows_as_they_stand_on_the_page(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln("Ember", max_temperature_c=700)
    rows = [("33x", "540", ""), ("", "", ""), ("150", "600", ""), ("150", "804", "10")]
    sent = schedule_sent(family.pk, rows, kiln, do="preview")
    text = signed_in(artist).post(URL, sent, headers=HX).content.decode()
    assert "Segment 1 is left out." in text
    assert "<strong>Segment 4.</strong> The kiln’s highest temperature is 700 °C." in text


def test_preview_of_nothing_and_of_no_kiln(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    browser, sent = signed_in(artist), schedule_sent(family.pk, [], do="preview")
    assert "none is in service" in browser.post(URL, sent, headers=HX).content.decode()
    make_kiln()
    assert (
        "as soon as a segment has a target" in browser.post(URL, sent, headers=HX).content.decode()
    )


def test_preview_leaves_no_receipt(family: GlassFamily, artist: Person, signed_in: SignIn) -> None:
    signed_in(artist).post(
        URL, schedule_sent(family.pk, do="preview", form_key="7a1f7d4e-0000-4000-8000-000000000000")
    )
    assert not FormReceipt.objects.exists()


@pytest.mark.parametrize("total", ["", "many", "-3", "1000000"])
def test_nonsense_for_the_number_of_rows_is_no_fault(
    family: GlassFamily, artist: Person, signed_in: SignIn, total: str
) -> None:
    sent = schedule_sent(family.pk, do="add") | {"segments-TOTAL_FORMS": total}
    assert signed_in(artist).post(URL, sent).status_code == 200


def test_acts_work_for_the_next_revision_too(artist: Person, signed_in: SignIn) -> None:
    schedule = make_schedule(artist)
    make_revision(schedule)
    make_kiln()
    address = reverse("schedules:revision_copy", args=[schedule.pk, 1])
    response = signed_in(artist).post(
        address, revision_sent(do="remove-2", newest_seen="1"), headers=HX
    )
    assert response.content.decode().count("<li>") == 2
    assert schedule.revisions.count() == 1
