from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from schedules.models import SilencedRemark
from studio.models import Person
from tests.schedules.hasty import make_hasty

SignIn = Callable[[Person], Client]


@pytest.fixture
def silenced(artist: Person) -> SilencedRemark:
    return SilencedRemark.objects.create(
        schedule=make_hasty(artist).schedule,
        code="soak_short",
        position=4,
        severity="warn",
        figure=1200.0,
        limit=3402.0,
        reason="Tiles.",
        silenced_by=artist,
    )


def url(silenced: SilencedRemark) -> str:
    return reverse("schedules:remark_hear", args=[silenced.pk])


def test_remark_is_heard_again_and_its_silence_stays_on_record(
    silenced: SilencedRemark, artist: Person, instructor: Person, signed_in: SignIn
) -> None:
    page = reverse("schedules:schedule_detail", args=[silenced.schedule_id])
    browser = signed_in(instructor)
    assert url(silenced) in browser.get(page).content.decode()
    assert browser.post(url(silenced)).headers["Location"] == page
    silenced.refresh_from_db()
    assert silenced.heard_again_by == instructor
    assert silenced.heard_again_at is not None
    remarks = browser.get(page).context["shown"].remarks
    assert "soak_short-4" in [each.line.key for each in remarks.heard]
    assert remarks.silenced == []


def test_hearing_it_twice_changes_nothing(
    silenced: SilencedRemark, artist: Person, instructor: Person, signed_in: SignIn
) -> None:
    signed_in(artist).post(url(silenced))
    assert signed_in(instructor).post(url(silenced)).status_code == 302
    silenced.refresh_from_db()
    assert silenced.heard_again_by == artist


def test_student_hears_nothing_of_anothers(
    silenced: SilencedRemark, student: Person, signed_in: SignIn
) -> None:
    assert signed_in(student).post(url(silenced)).status_code == 403
    silenced.refresh_from_db()
    assert silenced.heard_again_at is None


def test_page_of_the_kiln_comes_back(
    silenced: SilencedRemark, artist: Person, signed_in: SignIn
) -> None:
    response = signed_in(artist).post(url(silenced), {"kiln": "1"})
    assert response.headers["Location"].endswith("?kiln=1")


def test_wrong_method_missing_one_and_outsider(
    silenced: SilencedRemark, artist: Person, outsider: Client, signed_in: SignIn
) -> None:
    assert signed_in(artist).get(url(silenced)).status_code == 405
    assert signed_in(artist).post(reverse("schedules:remark_hear", args=[999])).status_code == 404
    assert outsider.post(url(silenced)).status_code == 302
    silenced.refresh_from_db()
    assert silenced.heard_again_at is None
