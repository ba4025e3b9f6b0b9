"""Two people talk about a firing on their phones."""

from collections.abc import Callable

import pytest
from django.conf import settings
from playwright.sync_api import Page, expect

from firings.models import Comment, CommentsRead
from studio.models import Person
from tests.browser.conftest import PHONE
from tests.factories import make_class, make_firing
from tests.firings.pictures import picture_file


@pytest.mark.django_db(transaction=True)
def test_a_question_and_its_answer(
    instructor: Person, student: Person, open_page: Callable[..., Page]
) -> None:
    make_class(instructor, students=[student])
    firing = make_firing(student, state="opened", title="Tide blank")
    address = f"/firings/{firing.pk}/"
    asks = open_page(student, viewport=PHONE)
    asks.goto(address)
    card = asks.locator("#comments")
    card.get_by_label("Your comment").fill("@nobody, is this rim even?")
    card.get_by_role("button", name="Say it").click()
    expect(card.get_by_text("Nobody here signs in as “nobody”.")).to_be_visible()
    card.get_by_label("Your comment").fill("@oona, is this rim even?")
    card.get_by_text("With a photograph").click()
    picture = picture_file()
    card.get_by_label("Photograph").set_input_files(
        {"name": "rim.jpg", "mimeType": "image/jpeg", "buffer": picture.read()}
    )
    card.get_by_role("button", name="Say it").click()
    expect(card.get_by_role("img", name="Photograph by Ravi")).to_be_visible()
    expect(card.get_by_label("Your comment")).to_have_value("")
    assert list(Comment.objects.get().mentions.all()) == [instructor]

    asks.context.clear_cookies(
        name=settings.SESSION_COOKIE_NAME
    )  # as if the sign-in had run out meanwhile
    card.get_by_label("Your comment").fill("And the foot?")
    card.get_by_role("button", name="Say it").click()
    expect(card.get_by_role("alert")).to_contain_text("This was not taken.")
    expect(card.get_by_label("Your comment")).to_have_value("And the foot?")

    answers = open_page(instructor, viewport=PHONE)
    answers.goto("/")
    answers.get_by_role("link", name="1 new comment").click()
    answers.get_by_role("link", name="Tide blank").click()
    card = answers.locator("#comments")
    expect(card.get_by_text("mentions you")).to_be_visible()
    expect(card.get_by_role("button", name="Mark as read")).to_have_count(0, timeout=8000)
    assert CommentsRead.objects.get().person == instructor
    width = answers.evaluate("document.documentElement.scrollWidth")
    assert width == PHONE["width"]
