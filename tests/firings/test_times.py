import zoneinfo
from datetime import UTC, datetime

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from firings.forms.times import DateAndTimeField


@pytest.fixture(autouse=True)
def in_lisbon() -> object:
    with timezone.override(zoneinfo.ZoneInfo("Europe/Lisbon")):
        yield


# Lisbon keeps UTC in winter, UTC+1 in summer; in 2026 the clocks change on 29 March and 25 October.
@pytest.mark.parametrize(
    ("keyed", "meant"),
    [
        ("2026-01-08T18:30", datetime(2026, 1, 8, 18, 30, tzinfo=UTC)),
        ("2026-07-08 18:30", datetime(2026, 7, 8, 17, 30, tzinfo=UTC)),
        ("2026-10-25T01:30", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),  # comes twice: the first
        ("2026-10-25T02:30", datetime(2026, 10, 25, 2, 30, tzinfo=UTC)),
    ],
)
def test_time_is_read_in_the_studios_zone(keyed: str, meant: datetime) -> None:
    assert DateAndTimeField().clean(keyed) == meant


def test_hour_that_never_was_is_refused() -> None:
    with pytest.raises(ValidationError, match="never was"):
        DateAndTimeField().clean("2026-03-29T01:30")


@pytest.mark.parametrize("wrong", ["noon", "18:30", "2026-02-30T10:00", "99999-01-01T10:00"])
def test_what_is_no_time_is_refused(wrong: str) -> None:
    with pytest.raises(ValidationError, match="day and a time"):
        DateAndTimeField().clean(wrong)


def test_time_comes_back_as_it_was_keyed() -> None:
    field = DateAndTimeField()
    assert field.prepare_value(field.clean("2026-07-08T18:30")) == "2026-07-08T18:30"
