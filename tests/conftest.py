"""The cast: artist, student, instructor and keeper of one studio, and an outsider."""

from collections.abc import Callable

import pytest
from django.test import Client
from hypothesis import HealthCheck, settings

from studio.models import Person
from tests.factories import make_person
from tests.reading_client import ReadingClient

# No timing is asserted: how quickly examples are made says something about the machine alone.
settings.register_profile(
    "any machine", settings.default, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("any machine")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="run the long forms, marked slow, too")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--long"):
        return
    kept = [item for item in items if "slow" not in item.keywords]
    config.hook.pytest_deselected(items=[item for item in items if "slow" in item.keywords])
    items[:] = kept


@pytest.fixture
def artist(db: None) -> Person:
    return make_person("inka", role="artist")


@pytest.fixture
def student(db: None) -> Person:
    return make_person("ravi", role="student")


@pytest.fixture
def instructor(db: None) -> Person:
    return make_person("oona", role="instructor")


@pytest.fixture
def keeper(db: None) -> Person:
    return make_person("mads", role="keeper")


@pytest.fixture
def outsider() -> Client:
    """A browser in which nobody has signed in."""
    return ReadingClient()


@pytest.fixture
def signed_in() -> Callable[[Person], Client]:
    """`signed_in(artist)` is a browser in which that person has signed in."""

    def browser_of(person: Person) -> Client:
        client = ReadingClient()
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        return client

    return browser_of
