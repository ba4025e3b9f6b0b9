from dataclasses import replace
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from schedules.actions.revision import MovedOnError, revision_make
from schedules.actions.schedule import schedule_archive, schedule_make, schedule_restore
from schedules.core_inputs import core_segments
from schedules.models import Revision, RevisionSegment, Schedule
from schedules.services.writing import WrittenSegment
from studio.models import Person
from tests.factories import make_family, make_kiln, make_revision, make_schedule

FUSE = [
    WrittenSegment(Decimal("6.7"), Decimal("540")),
    WrittenSegment(Decimal("300"), Decimal("804.5"), Decimal(10)),
    WrittenSegment(None, Decimal("482"), Decimal(60)),
]


def test_next_revision_keeps_what_was_written(artist: Person) -> None:
    schedule = make_schedule(artist)
    first = make_revision(schedule)
    kiln = make_kiln()

    made = revision_make(
        schedule=schedule,
        by=artist,
        segments=FUSE,
        unit="C",
        reason=" A longer hold, 10\u00a0min ",
        copied_from=first,
        written_for=kiln,
    )

    assert (made.number, made.reason, made.copied_from, made.written_for) == (
        2,
        "A longer hold, 10 min",
        first,
        kiln,
    )
    rows = RevisionSegment.objects.filter(revision=made)
    assert [(row.rate, row.target, row.hold_minutes) for row in rows] == [
        (Decimal("6.7"), 540, 0),
        (300, Decimal("804.5"), 10),
        (None, 482, 60),
    ]


def test_numbers_in_fahrenheit_reach_the_core_as_temperatures_and_differences(
    artist: Person,
) -> None:
    made = revision_make(
        schedule=make_schedule(artist),
        by=artist,
        segments=[WrittenSegment(Decimal(200), Decimal(1480), Decimal(10))],
        unit="F",
        reason="First writing.",
    )
    [segment] = core_segments(made)
    # 200 °F/h is a difference: 200/1.8; 1480 °F is a temperature: (1480 − 32)/1.8.
    assert segment.rate == pytest.approx(111.111, abs=1e-3)
    assert segment.target == pytest.approx(804.444, abs=1e-3)


@pytest.mark.parametrize(
    ("segments", "reason"),
    [
        ([], "why not"),
        (FUSE, "   "),
        ([replace(FUSE[0], rate=Decimal(-5))], "a negative rate"),
        ([replace(FUSE[0], hold_minutes=Decimal(-1))], "a negative hold"),
        ([replace(FUSE[0], hold_minutes=Decimal("1.5"))], "half a minute"),
    ],
)
def test_what_no_revision_takes_writes_nothing(
    artist: Person, segments: list[WrittenSegment], reason: str
) -> None:
    schedule = make_schedule(artist)
    with pytest.raises(ValidationError):
        revision_make(schedule=schedule, by=artist, segments=segments, unit="C", reason=reason)
    assert not Revision.objects.exists()


def test_writer_is_told_that_the_schedule_moved_on(artist: Person, instructor: Person) -> None:
    schedule = make_schedule(artist)
    make_revision(schedule)
    make_revision(schedule, made_by=instructor, reason="Softer corners")

    with pytest.raises(MovedOnError) as told:
        revision_make(
            schedule=schedule, by=artist, segments=FUSE, unit="C", reason="Mine", newest_seen=1
        )
    assert told.value.newest.number == 2
    assert told.value.messages == ["Oona has made revision 2 meanwhile: “Softer corners”."]

    made = revision_make(
        schedule=schedule, by=artist, segments=FUSE, unit="C", reason="Mine", newest_seen=2
    )
    assert made.number == 3


def test_archived_schedule_takes_no_revision_until_restored(artist: Person) -> None:
    schedule = make_schedule(artist)
    archived_at = schedule_archive(schedule=schedule).archived_at
    assert archived_at is not None
    assert schedule_archive(schedule=schedule).archived_at == archived_at
    with pytest.raises(ValidationError, match="archived"):
        revision_make(schedule=schedule, by=artist, segments=FUSE, unit="C", reason="Again")

    assert schedule_restore(schedule=schedule).archived_at is None
    assert revision_make(
        schedule=schedule, by=artist, segments=FUSE, unit="C", reason="Again"
    ).number


def test_new_schedule_comes_with_its_first_revision(artist: Person) -> None:
    schedule = schedule_make(
        owner=artist,
        name="Tack, two layers",
        process="tack_fuse",
        family=make_family(),
        thinnest_mm=6,
        thickest_mm=9,
        segments=FUSE,
        unit="C",
    )
    assert [revision.number for revision in schedule.revisions.all()] == [1]


def test_new_schedule_with_a_bad_segment_leaves_nothing_behind(artist: Person) -> None:
    with pytest.raises(ValidationError):
        schedule_make(
            owner=artist,
            name="Tack",
            process="tack_fuse",
            family=make_family(),
            thinnest_mm=6,
            thickest_mm=9,
            segments=[replace(FUSE[0], rate=Decimal(0))],
            unit="C",
        )
    assert not Schedule.objects.exists()
