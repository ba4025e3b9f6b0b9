"""Two instructors act on one firing in the same moment: one is first, the other is told."""

from typing import Any

import pytest

from firings.actions.clearing import DecidedMeanwhileError, firing_decide
from firings.actions.review import ReviewedMeanwhileError, piece_review
from firings.models import ClearingDecision, Firing, LoadedPiece, Review
from firings.queries.clearing import seen_of
from studio.models import Person
from tests.at_once import at_once
from tests.factories import load_piece, make_class, make_firing, make_person

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def two(student: Person, instructor: Person) -> list[Person]:
    other = make_person("petr", role="instructor")
    make_class(instructor, other, students=[student])
    return [instructor, other]


def test_one_clears_and_the_other_returns_it(student: Person, two: list[Person]) -> None:
    firing = make_firing(student)
    load_piece(firing)
    seen = seen_of(firing)
    decisions = dict(zip([p.pk for p in two], ClearingDecision.values[:2], strict=True))

    def decide(person: Person) -> Any:
        return firing_decide(
            firing=Firing.objects.get(pk=firing.pk),
            by=person,
            decision=ClearingDecision(decisions[person.pk]),
            seen=seen,
            latest=None,
            comment="Slower, please.",
        )

    answers = at_once(decide, two)
    told = [each for each in answers if isinstance(each, DecidedMeanwhileError)]
    assert len(told) == 1, answers
    assert firing.clearings.count() == 1


def test_both_review_one_piece(student: Person, two: list[Person]) -> None:
    loaded = load_piece(make_firing(student, state="opened"))

    def review(person: Person) -> Any:
        return piece_review(
            loaded=LoadedPiece.objects.get(pk=loaded.pk),
            by=person,
            verdict=-1,
            comment=f"{person.name} was here.",
            marks={},
            version=0,
        )

    answers = at_once(review, two)
    told = [each for each in answers if isinstance(each, ReviewedMeanwhileError)]
    assert len(told) == 1, answers
    first = next(each for each in answers if isinstance(each, Review))
    assert Review.objects.get().comment == first.comment
    assert first.reviewed_by.name in told[0].messages[0]
