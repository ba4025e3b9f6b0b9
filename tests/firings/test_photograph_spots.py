"""Pieces marked on a photograph of their shelf, and the crop that each maker finds."""

import io
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from firings.actions.load import piece_remove
from firings.actions.photographs import photograph_remove, photographs_add
from firings.actions.spots import spot_put, spots_propose
from firings.actions.telling import makers_tell, wish_keep
from firings.models import Firing, Message, Photograph, PieceSpot
from studio.models import Person
from studio.pictures import prepare_picture
from tests.at_once import at_once
from tests.factories import load_piece, make_firing, make_person, make_place
from tests.firings.pictures import picture_file

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db
RED, BLUE = (200, 30, 30), (30, 30, 200)


@pytest.fixture
def firing(instructor: Person) -> Firing:
    return make_firing(instructor, title="Class of May")


def shelf(size: tuple[int, int] = (800, 600), shade: int = 220) -> io.BytesIO:
    """A shelf whose left half is red and whose right half is blue, with a rim of some shade."""
    picture = Image.new("RGB", size, RED)
    picture.paste(BLUE, (size[0] // 2, 0, *size))
    picture.paste((shade,) * 3, (0, 0, size[0], 4))
    file = io.BytesIO()
    picture.save(file, "JPEG", quality=95)
    file.seek(0)
    return file


def photographed(firing: Firing, by: Person, moment: str = "loaded", **kwargs: Any) -> Photograph:
    pictures = [prepare_picture(shelf(**kwargs))]
    return photographs_add(firing=firing, by=by, pictures=pictures, moment=moment)[0]


def colour_of(browser: Client, spot: PieceSpot) -> tuple[int, ...]:
    answer = browser.get(reverse("firings:spot_crop", args=[spot.pk, spot.cut]))
    picture = Image.open(io.BytesIO(b"".join(answer.streaming_content)))
    assert picture.size == (spot.crop_width, spot.crop_height)
    return picture.getpixel((picture.width // 2, picture.height // 2))


def opened(firing: Firing) -> None:
    now = timezone.now()
    Firing.objects.filter(pk=firing.pk).update(
        state="opened", started_at=now - timedelta(hours=20), opened_at=now
    )
    firing.refresh_from_db()


def test_a_tap_cuts_out_the_piece(
    firing: Firing, student: Person, signed_in: SignIn, instructor: Person
) -> None:
    left = load_piece(firing, maker=student, title="Weir", length_mm=50.0, width_mm=40.0)
    right = load_piece(firing, maker=student, title="Ebb")
    photograph = photographed(firing, instructor)
    page, browser = reverse("firings:photograph_spots", args=[photograph.pk]), signed_in(student)
    assert browser.get(page).context["form"].initial["loaded_piece"] == left.pk

    # Without script the picture is 288 × 216 px: a quarter from the left, half way down.
    told = browser.post(page, {"loaded_piece": left.pk, "tap.x": "72", "tap.y": "108"}, follow=True)
    assert "“Weir” is marked." in told.text
    assert told.context["form"].initial["loaded_piece"] == right.pk
    browser.post(
        page,
        {"loaded_piece": right.pk, "left_percent": "75", "top_percent": "50,0",
         "half_width": "0.1", "tap.x": "0", "tap.y": "0"},
    )  # fmt: skip

    first, second = PieceSpot.objects.all()
    assert (first.x, first.y, second.x, second.y) == (0.25, 0.5, 0.75, 0.5)
    # The shelf is 500 × 450 mm; its depth fills 600 px, so 50 mm are 66.7 px of 800.
    assert first.half_width == pytest.approx(50 / 2 / 0.75 / 800)
    assert second.half_width == 0.1
    assert (second.crop_width, second.crop_height) == (208, 208)
    assert colour_of(browser, first) == pytest.approx(RED, abs=6)
    assert colour_of(browser, second) == pytest.approx(BLUE, abs=6)


def test_a_piece_is_moved_by_another_tap(
    firing: Firing, instructor: Person, signed_in: SignIn,
    django_capture_on_commit_callbacks: Callable[..., Any],
) -> None:  # fmt: skip
    photograph, loaded = photographed(firing, instructor), load_piece(firing)
    first = spot_put(
        photograph=photograph, loaded=loaded, by=instructor, x=0.2, y=0.5, half_width=0.2
    )
    old = first.crop.name

    with django_capture_on_commit_callbacks(execute=True):
        spot = spot_put(photograph=photograph, loaded=loaded, by=instructor, x=0.8, y=0.5)

    assert PieceSpot.objects.get() == spot
    assert spot.half_width == 0.2  # as large as it was marked
    assert colour_of(signed_in(instructor), spot) == pytest.approx(BLUE, abs=6)
    assert not default_storage.exists(old)
    gone = reverse("firings:spot_crop", args=[spot.pk, Path(old).stem])
    assert signed_in(instructor).get(gone).status_code == 404


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({}, "left_percent", "Tap where it lies, or write how far from the left"),
        ({"tap.x": "0", "tap.y": "0"}, "left_percent", "Tap where it lies"),
        ({"left_percent": "101", "top_percent": "5"}, "left_percent", "100 % is the most."),
        ({"left_percent": "5", "top_percent": "-1"}, "top_percent", "0 % is the least."),
        ({"left_percent": "x", "top_percent": "5"}, "left_percent", "a number of per cent"),
        ({"left_percent": "nan", "top_percent": "5"}, "left_percent", "a number of per cent"),
        ({"left_percent": "5"}, "left_percent", "Tap where it lies"),
        ({"loaded_piece": "", "tap.x": "72", "tap.y": "54"}, "loaded_piece", "Your tap is kept"),
        ({"half_width": "7", "tap.x": "72", "tap.y": "54"}, "half_width", "not one of the"),
    ],
)
def test_what_is_no_spot_is_told_and_nothing_is_lost(
    sent: dict[str, str], field: str, words: str, firing: Firing, instructor: Person,
    signed_in: SignIn,
) -> None:  # fmt: skip
    photograph, loaded = photographed(firing, instructor), load_piece(firing)
    page = reverse("firings:photograph_spots", args=[photograph.pk])
    answer = signed_in(instructor).post(page, {"loaded_piece": loaded.pk} | sent)
    assert words in answer.context["form"].errors[field][0]
    assert words in answer.text
    for name in ("left_percent", "top_percent"):
        assert answer.context["form"][name].value() == sent.get(name) or "tap.x" in sent
    if "tap.x" in sent and sent["tap.x"] != "0":
        assert answer.context["form"]["left_percent"].value() == "25.0"
        assert ">?</text>" in answer.text
    assert not PieceSpot.objects.exists()


def test_of_another_firing_or_a_picture_of_one_piece(firing: Firing, instructor: Person) -> None:
    photograph, other = photographed(firing, instructor), load_piece(make_firing(instructor))
    with pytest.raises(ValidationError, match="another firing"):
        spot_put(photograph=photograph, loaded=other, by=instructor, x=0.5, y=0.5)
    Photograph.objects.update(loaded_piece=load_piece(firing))
    with pytest.raises(ValidationError, match="of one piece"):
        spot_put(photograph=photograph, loaded=firing.load.get(), by=instructor, x=0.5, y=0.5)


@pytest.mark.parametrize("facts", [{"x": 1.2}, {"y": -0.1}, {"half_width": 0.6}])
def test_the_database_takes_no_spot_beside_the_picture(
    facts: dict[str, float], firing: Firing, instructor: Person
) -> None:
    spot = spot_put(
        photograph=photographed(firing, instructor), loaded=load_piece(firing), by=instructor,
        x=0.5, y=0.5,
    )  # fmt: skip
    with pytest.raises(IntegrityError), transaction.atomic():
        PieceSpot.objects.filter(pk=spot.pk).update(**facts)


def test_where_the_file_is_lost_it_is_told(
    firing: Firing, instructor: Person, signed_in: SignIn
) -> None:
    photograph, loaded = photographed(firing, instructor), load_piece(firing)
    default_storage.delete(photograph.picture.name)
    page = reverse("firings:photograph_spots", args=[photograph.pk])
    told = signed_in(instructor).post(
        page, {"loaded_piece": loaded.pk, "tap.x": "10", "tap.y": "10"}
    )
    assert "The file of this photograph is missing" in told.text


def test_whoever_opens_takes_one_photograph_and_each_maker_finds_a_crop(
    firing: Firing, student: Person, artist: Person, instructor: Person, signed_in: SignIn
) -> None:
    left = load_piece(firing, maker=student, title="Weir")
    right = load_piece(firing, maker=artist, title="Ebb")
    first = photographed(firing, instructor)
    for loaded, x in ((left, 0.25), (right, 0.75)):
        spot_put(photograph=first, loaded=loaded, by=instructor, x=x, y=0.5)
    Firing.objects.update(state="firing", started_at=timezone.now() - timedelta(hours=20))
    opener = make_person("wilf", role="artist")
    page = signed_in(opener).get(reverse("firings:firing_open", args=[firing.pk]))
    assert "in the same frame as this one" in page.text
    assert "Hot glass cracks in a draught" in page.text

    file = shelf(shade=90)
    file.name = "shelf.jpg"
    told = signed_in(opener).post(
        reverse("firings:firing_open", args=[firing.pk]),
        {"opened_by": opener.pk, "photographs": [file]},
        follow=True,
    )

    after = Photograph.objects.get(moment="after")
    assert told.request["PATH_INFO"] == reverse("firings:photograph_spots", args=[after.pk])
    assert "2 taken over from where they lay" in told.text
    assert "Weir, Ravi" in told.text
    for person, loaded, colour in ((student, left, RED), (artist, right, BLUE)):
        browser, spot = signed_in(person), after.spots.get(loaded_piece=loaded)
        assert spot.is_proposed
        assert colour_of(browser, spot) == pytest.approx(colour, abs=6)
        crop = reverse("firings:spot_crop", args=[spot.pk, spot.cut])
        judge = reverse("firings:piece_judge", args=[loaded.pk])
        assert crop in browser.get("/").text
        assert judge in browser.get("/").text
        assert "nobody has looked yet" in browser.get(judge).text
        assert crop in browser.get(judge).text
        assert crop in browser.get(reverse("firings:piece_detail", args=[loaded.piece_id])).text
        assert loaded.counted_verdict is None

    review = signed_in(instructor).get(reverse("firings:piece_review", args=[left.pk]))
    spot = after.spots.get(loaded_piece=left)
    assert reverse("firings:spot_crop", args=[spot.pk, spot.cut]) in review.text

    signed_in(opener).post(reverse("firings:spots_fit", args=[after.pk]))
    assert not after.spots.filter(is_proposed=True).exists()
    judge = reverse("firings:piece_judge", args=[left.pk])
    assert "nobody has looked yet" not in signed_in(student).get(judge).text


def test_another_frame_takes_nothing_over(firing: Firing, instructor: Person) -> None:
    loaded, first = load_piece(firing), photographed(firing, instructor)
    spot_put(photograph=first, loaded=loaded, by=instructor, x=0.25, y=0.5)
    upright = photographed(firing, instructor, "after", size=(600, 800))
    assert spots_propose(photograph=upright, by=instructor) == []
    alike = photographed(firing, instructor, "after", size=(400, 300))
    (spot,) = spots_propose(photograph=alike, by=instructor)
    assert (spot.x, spot.y, spot.is_proposed) == (0.25, 0.5, True)
    assert spots_propose(photograph=alike, by=instructor) == []


def test_a_shelf_photographed_later_is_marked_too(
    firing: Firing, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    loaded, browser = load_piece(firing, maker=student), signed_in(instructor)
    add = reverse("firings:photograph_add", args=[firing.pk])
    sent = {"moment": "loaded", "photographs": [picture_file(colour="red")], "back": "together"}
    told = browser.post(add, sent)
    first = Photograph.objects.get()
    assert told.headers["Location"] == reverse("firings:photograph_spots", args=[first.pk])
    sent["photographs"] = [picture_file(colour="red")]
    again = browser.post(add, sent)
    assert again.headers["Location"] == reverse("firings:load_together", args=[firing.pk])
    spot_put(photograph=first, loaded=loaded, by=instructor, x=0.5, y=0.5)
    opened(firing)
    told = browser.post(add, {"moment": "after", "photographs": [picture_file(colour="blue")]})
    after = Photograph.objects.get(moment="after")
    assert told.headers["Location"] == reverse("firings:photograph_spots", args=[after.pk])
    assert after.spots.get().loaded_piece == loaded


def test_of_a_kept_shelf_each_maker_sees_their_own_crop(
    firing: Firing, student: Person, artist: Person, instructor: Person, signed_in: SignIn
) -> None:
    """The shelf itself is for those who see its load; so is a crop of somebody else's piece."""
    Firing.objects.update(is_private=True)
    mine = load_piece(firing, maker=student, title="Weir")
    load_piece(firing, maker=instructor, title="Secret")
    opened(firing)
    photograph = photographed(firing, instructor, "after")
    spots = [
        spot_put(photograph=photograph, loaded=each, by=instructor, x=0.3, y=0.5)
        for each in firing.load.order_by("pk")
    ]
    addresses = [reverse("firings:spot_crop", args=[each.pk, each.cut]) for each in spots]
    whole = reverse("firings:photograph_file", args=[photograph.pk, "large"])
    browser = signed_in(student)
    assert [browser.get(each).status_code for each in addresses] == [200, 403]
    assert browser.get(whole).status_code == 403
    assert addresses[0] in browser.get("/").text
    assert browser.get(reverse("firings:piece_judge", args=[mine.pk])).status_code == 200
    assert [signed_in(artist).get(each).status_code for each in addresses] == [403, 403]


def test_its_files_go_with_it(
    firing: Firing, instructor: Person, django_capture_on_commit_callbacks: Callable[..., Any]
) -> None:
    photograph = photographed(firing, instructor)
    names = []
    for title in ("Weir", "Ebb", "Tide"):
        loaded = load_piece(firing, title=title)
        spot = spot_put(photograph=photograph, loaded=loaded, by=instructor, x=0.3, y=0.5)
        names.append(spot.crop.name)

    def there() -> list[bool]:
        return [default_storage.exists(name) for name in names]

    assert there() == [True, True, True]
    with django_capture_on_commit_callbacks(execute=True):
        piece_remove(loaded=firing.load.get(piece__title="Weir"), by=instructor)
    assert there() == [False, True, True]
    with django_capture_on_commit_callbacks(execute=True):
        PieceSpot.objects.get(loaded_piece__piece__title="Ebb").delete()
    assert there() == [False, False, True]
    with django_capture_on_commit_callbacks(execute=True):
        photograph_remove(photograph=photograph)
    assert there() == [False, False, False]


def test_more_pieces_ask_no_more_queries(
    firing: Firing, instructor: Person, signed_in: SignIn
) -> None:
    photograph, browser = photographed(firing, instructor, "after"), signed_in(instructor)
    opened(firing)
    pages = [reverse("firings:photograph_spots", args=[photograph.pk]), "/"]

    def mark(title: str) -> None:
        loaded = load_piece(firing, title=title)
        spot_put(photograph=photograph, loaded=loaded, by=instructor, x=0.3, y=0.5)

    def queries() -> list[int]:
        counts = []
        for page in pages:
            with CaptureQueriesContext(connection) as caught:
                browser.get(page)
            counts.append(len(caught))
        return counts

    mark("first")
    queries()
    before = queries()
    for n in range(5):
        mark(f"Piece {n}")
    assert queries() == before


def test_a_tap_on_the_map_takes_the_nearest_place(
    firing: Firing, student: Person, signed_in: SignIn
) -> None:
    """The shelf is drawn 300 × 270, the map 306 × 294; shown 288 px wide it is 277 px high."""
    back = make_place(firing.kiln, "back", x_percent=50, y_percent=0)
    front = make_place(firing.kiln, "front", x_percent=50, y_percent=100)
    first = load_piece(firing, maker=student, title="Weir")
    second = load_piece(firing, title="Ebb")
    page = reverse("firings:load_together", args=[firing.pk])
    place, browser = reverse("firings:load_place", args=[firing.pk]), signed_in(student)
    assert browser.get(page).context["place_form"].initial["loaded_piece"] == first.pk

    told = browser.post(
        place, {"loaded_piece": first.pk, "tap.x": "200", "tap.y": "50"}, follow=True
    )
    browser.post(place, {"loaded_piece": second.pk, "tap.x": "20", "tap.y": "230"})

    assert "“Weir” lies at “back”." in told.text
    assert "back: Weir" in told.text
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.place, second.place) == (back, front)
    browser.post(place, {"loaded_piece": second.pk, "place": back.pk})
    second.refresh_from_db()
    assert second.place == back
    refused = browser.post(place, {"tap.x": "200", "tap.y": "50"})
    assert "Which piece lies there?" in refused.text
    assert refused.context["place_form"]["left_percent"].value() == "69.4"
    refused = browser.post(place, {"loaded_piece": first.pk})
    assert "Tap where it lies" in refused.text


def test_a_shelf_without_places_and_a_firing_that_ended(
    firing: Firing, instructor: Person, signed_in: SignIn
) -> None:
    loaded, browser = load_piece(firing), signed_in(instructor)
    place = reverse("firings:load_place", args=[firing.pk])
    sent = {"loaded_piece": loaded.pk, "tap.x": "20", "tap.y": "230"}
    assert "no places on record yet" in browser.post(place, sent).context["place_form"].errors[
        "place"
    ][0]  # fmt: skip
    opened(firing)
    assert "was opened already" in browser.post(place, sent, follow=True).text


def test_makers_are_mailed_once_where_they_wish(
    firing: Firing, student: Person, artist: Person, instructor: Person, signed_in: SignIn,
    mailoutbox: list[Any], django_capture_on_commit_callbacks: Callable[..., Any],
) -> None:  # fmt: skip
    """On the site their pieces wait on the front page, whatever they wish."""
    for person in (student, artist, instructor):
        Person.objects.filter(pk=person.pk).update(email=f"{person.sign_in_name}@example.org")
        person.refresh_from_db()
    for person in (student, instructor):
        wish_keep(person=person, to_judge="mail")
    for maker in (student, student, artist, instructor):
        load_piece(firing, maker=maker, title=f"Of {maker.name}")
    Firing.objects.update(state="firing", started_at=timezone.now() - timedelta(hours=20))
    page = reverse("firings:firing_open", args=[firing.pk])

    with django_capture_on_commit_callbacks(execute=True):
        signed_in(instructor).post(page, {"opened_by": instructor.pk})

    (mail,) = mailoutbox
    assert mail.to == ["ravi@example.org"]
    assert mail.subject == "Heron: opened, with pieces of yours"
    assert "What of yours lay in it waits for your verdict." in mail.body
    told = Message.objects.order_by("person__name")
    assert [(each.person, each.by_mail) for each in told] == [(artist, False), (student, True)]
    firing.refresh_from_db()
    assert makers_tell(firing=firing) == []
    assert "Of Ravi" in signed_in(student).get("/").text
    latest = signed_in(student).get(reverse("firings:message_list"))
    assert "Heron: opened, with pieces of yours" in latest.text


@pytest.mark.django_db(transaction=True)
def test_two_who_mark_one_piece_at_once_leave_one_spot() -> None:
    oona, mads = make_person("oona", role="instructor"), make_person("mads", role="keeper")
    firing = make_firing(oona)
    loaded, photograph = load_piece(firing), photographed(firing, oona)

    def mark(by: Person) -> PieceSpot:
        return spot_put(photograph=photograph, loaded=loaded, by=by, x=0.5, y=0.5)

    answers = at_once(mark, [oona, mads])

    assert all(isinstance(each, PieceSpot) for each in answers)
    spot = PieceSpot.objects.get()
    names = {each.crop.name for each in answers}
    assert [name for name in names if default_storage.exists(name)] == [spot.crop.name]
