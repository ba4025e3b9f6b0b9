"""The evening class of the demo studio: its instructor, its student, and what was said so far."""

from datetime import datetime, timedelta

from firings.models import Clearing, ClearingDecision, Firing, FiringState, LoadedPiece, ReviewMark
from firings.models import Review as PieceReview
from firings.queries.clearing import seen_of
from studio.models import ClassMember, Person, TeachingClass
from studio.queries.rubric import studio_rubric

MARKS = ((2, 2, 3, 2), (2, 3, 3, 2), (3, 3, 4, 2), (3, 4, 4, 3))
"""By the rubric's criteria, from the first weeks to the last."""


def teaching_make(people: dict[str, Person], now: datetime) -> TeachingClass:
    oona, ravi = people["oona"], people["ravi"]
    taught = TeachingClass.objects.create(
        name="Monday evenings",
        starts_on=(now - timedelta(weeks=10)).date(),
        ends_on=(now + timedelta(weeks=6)).date(),
        highest_temperature_c=830.0,
        note="Bring a cutter and closed shoes.",
        made_by=oona,
        made_at=now - timedelta(weeks=11),
    )
    taught.instructors.set([oona])
    ClassMember.objects.create(
        teaching_class=taught, person=ravi, joined_at=now - timedelta(weeks=10)
    )
    _review(ravi, oona, taught)
    _return(ravi, oona, now)
    return taught


def _review(student: Person, by: Person, taught: TeachingClass) -> None:
    """All of the class's pieces but the latest that was judged."""
    judged = list(
        LoadedPiece.objects.filter(
            piece__maker=student,
            verdict__isnull=False,
            firing__opened_at__date__gte=taught.starts_on,
        )
        .select_related("firing")
        .order_by("firing__opened_at")
    )[:-1]
    for place, loaded in enumerate(judged):
        opened_at = loaded.firing.opened_at
        assert opened_at is not None  # noqa: S101 — all of them are opened
        review = PieceReview.objects.create(
            loaded_piece=loaded,
            verdict=-1 if place == 1 and loaded.verdict == 0 else loaded.verdict,
            comment="Even all round. Measure the rim before and after, and write both down.",
            reviewed_by=by,
            reviewed_at=opened_at + timedelta(days=2),
        )
        ReviewMark.objects.bulk_create(
            ReviewMark(review=review, criterion=criterion, mark=mark)
            for criterion, mark in zip(
                studio_rubric(), MARKS[place * len(MARKS) // len(judged)], strict=True
            )
        )


def _return(student: Person, by: Person, now: datetime) -> None:
    """What is planned was looked at once, and waits for a second look after a change."""
    planned = Firing.objects.filter(fired_by=student, state=FiringState.PLANNED).first()
    if planned is None:
        return
    seen = seen_of(planned)
    Clearing.objects.create(
        firing=planned,
        decision=ClearingDecision.RETURNED,
        seen=seen[:-1] + ("0" if seen[-1] != "0" else "1"),
        comment="The mould is deeper than the last one: say how deep in the notes.",
        decided_by=by,
        decided_at=now - timedelta(hours=1),
    )
