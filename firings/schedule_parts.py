"""What this app adds to a schedule's page; read by `schedules.page_parts`."""

from firings.queries.brought import is_unproven
from firings.queries.forecasts import schedule_forecasts
from firings.queries.ladders import schedule_ladders
from schedules.models import Schedule
from schedules.page_parts import PagePart, schedule_part
from studio.models import Person


@schedule_part
def unproven_part(schedule: Schedule, reader: Person) -> PagePart | None:
    """An old card proves nothing here before it was fired and judged."""
    if not hasattr(schedule, "card") or not is_unproven(schedule, reader):
        return None
    return PagePart("firings/_card_unproven.html", None, at_top=True)


@schedule_part
def forecasts_part(schedule: Schedule, reader: Person) -> PagePart | None:
    shown = schedule_forecasts(schedule, reader)
    return None if shown is None else PagePart("firings/_schedule_forecasts.html", shown)


@schedule_part
def ladders_part(schedule: Schedule, reader: Person) -> PagePart | None:
    return PagePart("firings/_schedule_ladders.html", schedule_ladders(schedule))
