"""How people stand to each other's work: by class, and without one."""

from datetime import timedelta

import pytest
from django.utils import timezone

from studio import access
from studio.access import CLASSMATE, KEPT, OTHER, OWN, STUDENT, TAUGHT
from studio.models import ClassMember, Person
from studio.teaching import REVIEWED_FOR
from tests.factories import load_piece, make_class, make_firing, make_person

pytestmark = pytest.mark.django_db


def stands(person: Person, thing: object) -> str:
    """As in a new request: what a person was found to be is kept on them for one only."""
    return access.relation(Person.objects.get(pk=person.pk), thing)  # type: ignore[arg-type]


def test_a_student_without_a_class_is_every_instructors(
    instructor: Person, student: Person
) -> None:
    assert stands(instructor, make_firing(student)) == TAUGHT


def test_a_student_in_a_class_is_its_instructors_only(instructor: Person, student: Person) -> None:
    other = make_person("petr", role="instructor")
    make_class(other, students=[student])
    firing = make_firing(student)
    assert stands(other, firing) == TAUGHT
    assert stands(instructor, firing) == STUDENT


def test_a_student_in_two_classes_is_both_instructors(instructor: Person, student: Person) -> None:
    other = make_person("petr", role="instructor")
    make_class(other, students=[student])
    make_class(instructor, students=[student])
    assert {stands(who, student) for who in (instructor, other)} == {TAUGHT}


def test_a_class_counts_some_weeks_after_its_end(instructor: Person, student: Person) -> None:
    other = make_person("petr", role="instructor")
    today = timezone.localdate()
    taught = make_class(
        other, students=[student], starts_on=today - timedelta(days=200), ends_on=today
    )
    taught.ends_on = today - REVIEWED_FOR
    taught.save()
    assert stands(instructor, student) == STUDENT
    taught.ends_on = today - REVIEWED_FOR - timedelta(days=1)
    taught.save()
    assert stands(instructor, student) == TAUGHT, "in no class any longer"


def test_whoever_left_a_class_is_taught_in_it_no_longer(
    instructor: Person, student: Person
) -> None:
    other = make_person("petr", role="instructor")
    make_class(other, students=[student])
    ClassMember.objects.update(left_at=timezone.now())
    assert stands(instructor, student) == TAUGHT


def test_students_of_one_class_are_classmates(instructor: Person, student: Person) -> None:
    mate, stranger = make_person("nora", role="student"), make_person("sol", role="student")
    make_class(instructor, students=[student, mate])
    make_class(instructor, students=[stranger])
    assert stands(mate, make_firing(student)) == CLASSMATE
    assert stands(stranger, make_firing(student)) == STUDENT
    assert stands(student, make_firing(student)) == OWN


def test_what_an_artist_makes_is_somebody_elses(
    instructor: Person, artist: Person, student: Person
) -> None:
    firing = make_firing(artist)
    assert {stands(who, firing) for who in (instructor, student)} == {OTHER}


def test_a_firing_is_kept_from_all_but_its_people_and_teachers(
    instructor: Person, student: Person, artist: Person, keeper: Person
) -> None:
    firing = make_firing(student, is_private=True)
    loaded = load_piece(firing)
    assert stands(instructor, firing) == TAUGHT
    assert {stands(artist, thing) for thing in (firing, loaded)} == {KEPT}
    assert not access.may(artist, "firing.see_load", firing)
    assert access.may(artist, "firing.see", firing), "the logbook is everybody's"
    assert access.may(keeper, "firing.see_load", firing)


def test_a_piece_of_mine_in_a_firing_that_is_kept_stays_mine(
    student: Person, artist: Person
) -> None:
    loaded = load_piece(make_firing(student, is_private=True), maker=artist)
    assert stands(artist, loaded) == OWN


def test_comments_on_a_students_work_are_for_its_class(
    instructor: Person, student: Person, artist: Person
) -> None:
    mate = make_person("nora", role="student")
    other = make_person("petr", role="instructor")
    make_class(instructor, students=[student, mate])
    firing = make_firing(student)
    asked = (instructor, student, artist, mate, other)
    may_read = {who.name for who in asked if access.may(who, "comment.read", firing)}
    assert may_read == {instructor.name, student.name}
    assert access.may(mate, "comment.read", make_firing(artist))


def test_a_class_is_seen_by_those_in_it(instructor: Person, student: Person) -> None:
    other = make_person("petr", role="instructor")
    taught = make_class(instructor, students=[student])
    assert stands(instructor, taught) == OWN
    assert stands(student, taught) == CLASSMATE
    assert not access.may(other, "class.see", taught)
