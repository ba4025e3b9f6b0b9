"""What the trail of a row keeps, and what it leaves out."""

import pytest
from django.db.models import Model

from studio.models import Kiln, Person, TeachingClass
from studio.models.trail import AS_IT_STOOD, records_of, trail_paused
from tests.factories import make_class, make_kiln, make_person

pytestmark = pytest.mark.django_db


def records(row: Model) -> list[Model]:
    return list(records_of(type(row)).objects.filter(id=row.pk).order_by("history_id"))


def test_a_change_is_kept_with_what_stood_before() -> None:
    kiln = make_kiln(offset_c=2.0)

    kiln.offset_c = 5.0
    kiln.save()

    assert [(each.history_type, each.offset_c) for each in records(kiln)] == [
        ("+", 2.0),
        ("~", 5.0),
    ]


def test_a_save_that_changes_nothing_leaves_no_record() -> None:
    kiln = make_kiln()

    kiln.save()
    Kiln.objects.get(pk=kiln.pk).save()

    assert len(records(kiln)) == 1


def test_text_and_number_of_one_value_are_one() -> None:
    kiln = make_kiln(offset_c=2.0)

    kiln.offset_c = "2"  # as some forms leave it
    kiln.save()

    assert len(records(kiln)) == 1


def test_a_stale_instance_is_believed_only_of_what_it_saves() -> None:
    kiln = make_kiln(place="by the door", offset_c=2.0)
    stale = Kiln.objects.get(pk=kiln.pk)
    kiln.place = "by the window"
    kiln.save(update_fields=["place"])

    stale.offset_c = 4.0
    stale.save(update_fields=["offset_c"])

    newest = records(kiln)[-1]
    assert (newest.place, newest.offset_c) == ("by the window", 4.0)


def test_a_row_older_than_its_trail_is_kept_as_it_stood() -> None:
    with trail_paused():
        kiln = make_kiln(offset_c=2.0)
    assert records(kiln) == []

    kiln.offset_c = 5.0
    kiln.save()

    first, second = records(kiln)
    assert (first.offset_c, first.history_change_reason) == (2.0, AS_IT_STOOD)
    assert (second.offset_c, second.history_change_reason) == (5.0, None)


def test_a_row_that_is_gone_leaves_what_it_was() -> None:
    kiln = make_kiln()
    place = kiln.places.create(name="by the door", x_percent=10, y_percent=90)
    pk = place.pk

    place.delete()

    last = records_of(type(place)).objects.filter(id=pk).order_by("history_id").last()
    assert (last.history_type, last.name, last.kiln_id) == ("-", "by the door", kiln.pk)


def test_who_teaches_a_class_is_kept(keeper: Person, instructor: Person) -> None:
    group = make_class(instructor)

    group.instructors.add(keeper)
    group.instructors.add(keeper)

    taught_by = [{row.person_id for row in each.instructors.all()} for each in records(group)]
    assert taught_by == [set(), {instructor.pk}, {instructor.pk, keeper.pk}]


def test_a_class_is_never_changed_from_a_person(instructor: Person) -> None:
    group = make_class(instructor)

    with pytest.raises(TypeError):
        make_person("bo", role="instructor").classes_taught.add(group)


def test_of_a_person_only_rights_are_kept(artist: Person) -> None:
    artist.email = "inka@studio.example"
    artist.set_password("another-long-phrase")
    artist.name = "Somebody Else"
    artist.save()
    assert len(records(artist)) == 1

    artist.role = "instructor"
    artist.save()

    kept = {field.name for field in records_of(Person)._meta.fields}
    assert len(records(artist)) == 2
    assert {name for name in kept if not name.startswith("history")} == {"id", "role", "is_active"}


@pytest.mark.parametrize("secret", ["password", "email", "joining_code", "token", "sign_in_name"])
def test_no_secret_is_kept(secret: str) -> None:
    for model in (Person, TeachingClass):
        assert secret not in {field.name for field in records_of(model)._meta.fields}
