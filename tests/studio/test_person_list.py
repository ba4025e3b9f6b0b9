from collections.abc import Callable

from django.test import Client
from pytest_django import DjangoAssertNumQueries

from studio.models import Invitation, Person
from tests.factories import make_person


def test_closed_accounts_are_shown_to_the_keeper_only(
    keeper: Person, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    make_person("gone", name="Somebody Gone", is_active=False)

    assert "Somebody Gone" in signed_in(keeper).get("/people/").text
    assert "Somebody Gone" not in signed_in(artist).get("/people/").text


def test_artist_sees_no_invitations(
    keeper: Person, artist: Person, signed_in: Callable[[Person], Client]
) -> None:
    Invitation.objects.create(invited_for="Tove Lind", invited_by=keeper)

    assert "Tove Lind" not in signed_in(artist).get("/people/").text
    assert "Tove Lind" in signed_in(keeper).get("/people/").text


def test_rows_cost_no_queries(
    keeper: Person,
    signed_in: Callable[[Person], Client],
    django_assert_num_queries: DjangoAssertNumQueries,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    browser = signed_in(keeper)
    browser.get("/people/")
    with django_assert_max_num_queries(12) as few:
        browser.get("/people/")

    for number in range(12):
        person = make_person(f"person{number}")
        Invitation.objects.create(invited_for=f"guest {number}", invited_by=person)
    with django_assert_num_queries(len(few)):
        browser.get("/people/")
