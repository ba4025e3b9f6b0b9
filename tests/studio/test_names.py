"""Names stand in the order in which people look for them."""

from firings.queries.plan import revisions_to_fire
from schedules.queries.schedule_list import schedules_to_list
from studio.models import Person
from studio.queries.glass import families_on_record
from studio.queries.kilns import kilns_in_order
from studio.queries.people import people_seen_by
from tests.factories import make_family, make_kiln, make_person, make_revision, make_schedule

KEYED = ["Zander", "anna", "Émile", "Bert"]
LOOKED_FOR = ["anna", "Bert", "Émile", "Zander"]


def test_kilns_and_families_stand_by_name(db: None) -> None:
    for name in KEYED:
        make_kiln(name, in_service=True)
        make_family(name)
    assert [kiln.name for kiln in kilns_in_order()] == LOOKED_FOR
    assert [family.name for family in families_on_record()] == LOOKED_FOR


def test_people_stand_by_name(keeper: Person) -> None:
    for number, name in enumerate(KEYED):
        make_person(f"person{number}", name=name)
    shown = [each.name for each in people_seen_by(keeper) if each.name in KEYED]
    assert shown == LOOKED_FOR


def test_schedules_stand_by_name_in_the_list_and_where_one_is_chosen(artist: Person) -> None:
    family = make_family()
    for name in KEYED:
        make_revision(make_schedule(artist, name=name, family=family))
    assert [schedule.name for schedule in schedules_to_list()] == LOOKED_FOR
    assert [each.schedule.name for each in revisions_to_fire()] == LOOKED_FOR
