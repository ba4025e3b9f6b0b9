"""How a person stands to a schedule: whoever owns it has it as their own."""

from schedules.models import Schedule
from studio.access import OTHER, OWN, relation_finder
from studio.models import Person


@relation_finder(Schedule)
def schedule_relation(person: Person, schedule: Schedule) -> str:
    return OWN if schedule.owner_id == person.pk else OTHER
