"""How all forecasts did, on one page."""

from datetime import UTC, datetime, timedelta

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags

from firings.models import Firing, ForecastScore
from firings.services.calibration import Told, Worth
from schedules.models import Revision
from studio.models import Kiln, Person
from tests.factories import make_firing, make_forecast, make_kiln, make_revision, make_schedule

ADDRESS = "firings:advice_record"
FIVE = [0.05, 0.15, 0.7, 0.08, 0.02]


@pytest.fixture
def kiln() -> Kiln:
    return make_kiln()


@pytest.fixture
def revision(artist: Person, kiln: Kiln) -> Revision:
    return make_revision(make_schedule(artist))


@pytest.fixture
def client(artist: Person, signed_in) -> Client:
    return signed_in(artist)


def scored(
    revision: Revision, verdicts: list[int], fired: str = "as_advised", **forecast: object
) -> list[ForecastScore]:
    """Forecasts of 70 % with these verdicts after them."""
    start = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)
    count = Firing.objects.count()
    firings = [
        make_firing(
            revision.made_by,
            revision=revision,
            state="opened",
            started_at=start + timedelta(days=count + day),
            opened_at=start + timedelta(days=count + day, hours=16),
            **({"kiln": forecast["kiln"]} if "kiln" in forecast else {}),
        )
        for day in range(len(verdicts))
    ]
    told = {"chances_then": FIVE, "chances_now": FIVE} | forecast
    return [
        ForecastScore.objects.create(
            firing=firing, forecast=make_forecast(firing, **told), fired=fired, verdict=verdict
        )
        for firing, verdict in zip(firings, verdicts, strict=True)
    ]


def words(client: Client, query: str = "") -> str:
    response = client.get(reverse(ADDRESS) + query)
    assert response.status_code == 200
    text = strip_tags(response.content.decode().replace("</d", " </d")).replace("\u00a0", " ")
    return " ".join(text.split())


def test_it_says_in_words_how_often_they_came_true(client: Client, revision: Revision) -> None:
    scored(revision, [0] * 15 + [-1] * 8)

    page = words(client)

    assert "Of 23 forecasts that said about 70 %, 15 came as wanted (65 %): about as said" in page
    assert "too few to tell (23 of 30)" in page
    assert "Brier" not in page


def test_from_thirty_on_score_and_skill_are_told(client: Client, revision: Revision) -> None:
    scored(revision, [0] * 24 + [-1] * 6)

    page = words(client)

    # 24 × 0.3² + 6 × 0.7² over 30 = 0.17; always saying 80 %: 0.16
    assert "Brier score 0.170 of always saying 80 % 0.160" in page
    assert "Skill −6 %" in page
    assert "can’t be told yet" in page


def test_verdicts_are_counted_beside_what_was_foretold(client: Client, revision: Revision) -> None:
    scored(revision, [0, 0, -1, 1])

    counts = client.get(reverse(ADDRESS)).context["record"].verdicts

    assert [each.words for each in counts][::4] == ["well short", "well past"]
    assert [each.foretold for each in counts] == pytest.approx([0.2, 0.6, 2.8, 0.32, 0.08])
    assert [each.came for each in counts] == [0, 1, 2, 1, 0]


def test_what_was_not_followed_is_told_and_not_scored(client: Client, revision: Revision) -> None:
    scored(revision, [0, 0])
    scored(revision, [-2], fired="otherwise")
    scored(revision, [-2], fired="missed")
    scored(revision, [-2], fired="broken_off")
    scored(revision, [-2], fired="as_it_stood", action="look_elsewhere")

    page = words(client)

    assert "6 notes are kept, and 6 judged firings came after them" in page
    assert "Of 2 that could be scored, 2 came as wanted" in page
    assert "1 time something else was fired" in page
    assert "1 time the kiln missed its plan" in page
    assert "1 time it was stopped early, or lost its power" in page
    assert "1 time the note said to look elsewhere first" in page


def test_by_kiln_and_process(client: Client, artist: Person, revision: Revision) -> None:
    scored(revision, [0])
    wren = make_kiln("Wren")
    slump = make_revision(make_schedule(artist, name="Slump", process="slump"))
    scored(slump, [0, 0], kiln=wren)

    assert client.get(reverse(ADDRESS)).context["record"].scored == 3
    assert client.get(reverse(ADDRESS), {"kiln": wren.pk}).context["record"].scored == 2
    assert client.get(reverse(ADDRESS), {"process": "full_fuse"}).context["record"].scored == 1
    assert "No next-time note is kept of these" in words(client, "?process=drape")


def test_a_filter_that_is_none_is_told_at_its_field(client: Client, revision: Revision) -> None:
    scored(revision, [0])

    page = words(client, "?kiln=999&process=brewing")

    assert page.count("Select a valid choice") == 2


def test_an_empty_studio_is_told_how_it_begins(client: Client) -> None:
    page = words(client)

    assert "No next-time note is kept yet. One is kept each time a verdict is saved." in page


def test_the_drawing_says_the_same_as_the_words(client: Client, revision: Revision) -> None:
    scored(revision, [0, -1])

    drawing = client.get(reverse(ADDRESS)).context["drawing"]

    (point,) = drawing.points
    assert point.x == pytest.approx(drawing.left + 0.7 * (drawing.right - drawing.left))
    assert point.y == pytest.approx((drawing.top + drawing.bottom) / 2)
    assert point.low > point.y > point.high  # downwards
    assert point.count == 2


def test_the_number_of_questions_stays(
    client: Client, revision: Revision, django_assert_max_num_queries
) -> None:
    scored(revision, [0] * 3)
    with django_assert_max_num_queries(20) as few:
        client.get(reverse(ADDRESS))
    scored(revision, [0] * 40)
    with django_assert_max_num_queries(len(few)):
        client.get(reverse(ADDRESS))


def test_it_is_linked_from_the_front_page(client: Client, revision: Revision) -> None:
    scored(revision, [0])

    assert reverse(ADDRESS) in client.get(reverse("firings:today")).content.decode()


def test_wrong_method_and_outsider(client: Client, outsider: Client) -> None:
    assert client.post(reverse(ADDRESS)).status_code == 405
    assert outsider.get(reverse(ADDRESS)).status_code == 302


@pytest.mark.parametrize("code", Told.__args__)
def test_every_code_of_a_bin_has_words(code: str) -> None:
    assert render_to_string("firings/_told_words.html", {"told": code})


@pytest.mark.parametrize("code", sorted({*Worth.__args__} - {"too_few"}))
def test_every_code_of_worth_has_words(code: str) -> None:
    calibration = {"worth": code, "brier": 0.2, "base_rate": 0.4, "brier_of_base_rate": 0.24}
    text = render_to_string("firings/_score.html", {"calibration": calibration})
    assert "<strong>" in text
