"""What the trails of this app's things are made of; read by `studio.trails`."""

from typing import Any

from django.db.models import Q

from studio import access
from studio.models import (
    ClassMember,
    Kiln,
    Person,
    RubricCriterion,
    SafetyLine,
    ServiceEntry,
    SharedDevice,
    ShelfPlace,
    ShortCode,
    Studio,
    TeachingClass,
)
from studio.trails import TrailOf, TrailPart, itself, named_by, trail_of


def _of_kiln(person: Any, kiln: Any) -> Q:
    return Q(kiln=kiln)


def _of_class(person: Any, teaching_class: Any) -> Q:
    return Q(teaching_class=teaching_class)


def _of_studio(person: Any, studio: Any) -> Q:
    return Q(teaching_class=None)


def _code_of_person(reader: Any, person: Any) -> Q:
    return Q(person=person) if access.may(reader, "short_code.take_away", person) else Q(pk=None)


def _all(person: Any, studio: Any) -> Q:
    return Q()


CLASS_PARTS = (
    TrailPart(TeachingClass, itself),
    TrailPart(ClassMember, _of_class, called="student", known_by=("person",)),
    TrailPart(RubricCriterion, _of_class, called="criterion", known_by=("name",)),
)

named_by(Person, "name")
named_by(ShelfPlace, "name")
trail_of(
    "kiln",
    TrailOf(
        Kiln,
        "kiln.see",
        "studio:kiln_detail",
        "kilns",
        (
            TrailPart(Kiln, itself),
            TrailPart(ShelfPlace, _of_kiln, called="place", known_by=("name",)),
            TrailPart(ServiceEntry, _of_kiln, called="service", known_by=("kind", "done_on")),
        ),
    ),
)
trail_of(
    "person",
    TrailOf(
        Person,
        "person.see",
        "studio:person_detail",
        "people",
        (TrailPart(Person, itself), TrailPart(ShortCode, _code_of_person, called="short code")),
    ),
)
trail_of("class", TrailOf(TeachingClass, "class.see", "studio:class_detail", "people", CLASS_PARTS))
trail_of(
    "studio",
    TrailOf(
        Studio,
        "studio.change",
        "studio:studio_change",
        "people",
        (
            TrailPart(Studio, itself),
            TrailPart(SafetyLine, _all, called="line before a start", known_by=("position",)),
            TrailPart(RubricCriterion, _of_studio, called="criterion", known_by=("name",)),
            TrailPart(SharedDevice, _all, called="studio device", known_by=("name",)),
        ),
        numbered=False,
    ),
)
