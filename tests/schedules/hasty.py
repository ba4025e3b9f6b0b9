"""A schedule with something to say about every segment."""

from schedules.models import Revision
from studio.models import Kiln, Person
from tests.factories import make_kiln, make_revision, make_schedule

# Heated twice too fast, too hot, soaked for a third of the time; the fourth lies too low to say.
HASTY: list[tuple[str | None, str, int]] = [
    ("400", "540", 0),
    ("300", "670", 30),
    ("300", "880", 10),
    (None, "482", 20),
    ("80", "370", 0),
]


def make_hasty(owner: Person, kiln: Kiln | None = None) -> Revision:
    schedule = make_schedule(owner, name="Too much in a hurry")
    return make_revision(schedule, HASTY, written_for=kiln or make_kiln())
