from datetime import timedelta

from django.utils import timezone

from firings.models import LoadedPiece
from firings.queries.verdicts_in import verdicts_in
from studio.models import Person
from tests.factories import load_piece, make_firing, make_kiln, make_revision, make_schedule


def judged(person: Person, days_ago: float, **overrides: object) -> LoadedPiece:
    firing = make_firing(
        person,
        state="opened",
        **{name: overrides.pop(name) for name in ("revision", "kiln") if name in overrides},
    )
    at = timezone.now() - timedelta(days=days_ago)
    return load_piece(firing, **{"verdict": 0, "judged_at": at, "judged_by": person} | overrides)


def test_the_latest_verdict_of_each_of_my_schedules(artist: Person, student: Person) -> None:
    kiln = make_kiln()
    mine, other = (make_revision(make_schedule(artist, name=name)) for name in "AB")
    judged(artist, 3, revision=mine, kiln=kiln)
    latest = judged(artist, 1, revision=mine, kiln=kiln)
    by_student = judged(student, 2, revision=other, kiln=kiln)
    judged(student, 1, kiln=kiln)  # a schedule of the student's own

    assert verdicts_in(artist, timezone.now()) == [latest, by_student]


def test_what_is_old_beside_or_not_judged_is_left_out(artist: Person) -> None:
    judged(artist, 31)
    judged(artist, 1, is_served=False)
    judged(artist, 1, verdict=None, judged_at=None, judged_by=None)

    assert verdicts_in(artist, timezone.now()) == []
