"""What this app adds to a schedule's page; read by `schedules.page_parts`."""

from firings.queries.forecasts import schedule_forecasts
from schedules.models import Schedule
from schedules.page_parts import PagePart, schedule_part
from studio.models import Person


@schedule_part
def forecasts_part(schedule: Schedule, reader: Person) -> PagePart | None:
    shown = schedule_forecasts(schedule, reader)
    return None if shown is None else PagePart("firings/_schedule_forecasts.html", shown)
