"""Days and months by the studio's clock."""

from datetime import date, datetime, time

from django.utils import timezone


def midnight(day: date) -> datetime:
    """The moment at which it begins."""
    return timezone.make_aware(datetime.combine(day, time.min))


def month_of(day: date) -> date:
    """The first day of its month."""
    return day.replace(day=1)


def month_after(first_day: date) -> date:
    """The first day of the next month."""
    if first_day.month == 12:
        return date(first_day.year + 1, 1, 1)
    return date(first_day.year, first_day.month + 1, 1)


def month_before(first_day: date) -> date:
    """The first day of the month before."""
    if first_day.month == 1:
        return date(first_day.year - 1, 12, 1)
    return date(first_day.year, first_day.month - 1, 1)
