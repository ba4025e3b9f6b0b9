"""Twenty pieces reviewed by keyboard alone."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from firings.models import Review
from studio.models import Person
from studio.queries.rubric import rubric_of
from tests.factories import load_piece, make_class, make_firing

PIECES = 20


@pytest.mark.django_db(transaction=True)
def test_twenty_pieces_are_reviewed_by_keyboard_alone(
    instructor: Person, student: Person, open_page: Callable[..., Page]
) -> None:
    make_class(instructor, students=[student])
    firing = make_firing(student, state="opened", title="A full shelf")
    for number in range(PIECES):
        load_piece(firing, title=f"Tile {number + 1}", verdict=0)
    criteria = rubric_of(None)
    page = open_page(instructor)
    page.goto("/review/")
    begin = page.get_by_role("link", name="Begin reviewing")
    begin.focus()
    page.keyboard.press("Enter")
    for number in range(PIECES):
        expect(page.get_by_role("heading", level=1)).to_have_text(f"Tile {number + 1}")
        page.wait_for_load_state()  # the keys come with the script
        page.keyboard.press("2")
        page.keyboard.press("m")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("c")
        page.keyboard.type(f"Seen, {number + 1}.")
        page.keyboard.press("Control+Enter")
    expect(page.get_by_text("Every opened piece is reviewed.")).to_be_visible()

    reviews = list(Review.objects.order_by("loaded_piece_id").prefetch_related("marks"))
    assert [review.comment for review in reviews] == [f"Seen, {n + 1}." for n in range(PIECES)]
    assert {review.verdict for review in reviews} == {-1}
    assert {(m.criterion_id, m.mark) for review in reviews for m in review.marks.all()} == {
        (criteria[0].pk, 3)
    }
