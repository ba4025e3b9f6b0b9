"""A firing's pieces and photographs, kept by whoever fires it: nobody else sees them, anywhere."""

from collections.abc import Callable
from datetime import timedelta
from io import BytesIO
from itertools import product

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from firings.actions.photographs import photographs_add
from firings.models import (
    Fault,
    Firing,
    FiringEvent,
    ForecastScore,
    LoadedPiece,
    Photograph,
    Piece,
    SpotReading,
)
from firings.queries.visible import (
    is_kept_from,
    kept_among,
    open_load,
    visible_load,
    visible_photographs,
    visible_pieces,
)
from studio import access
from studio.models import Person
from studio.pictures import prepare_picture
from tests.factories import (
    load_piece,
    make_class,
    make_firing,
    make_forecast,
    make_glass,
    make_kiln,
    make_person,
    make_place,
    make_revision,
    make_schedule,
)
from tests.firings.logger_files import recorded

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]

SECRETS = ("Wedding bowl", "for-her-eyes", "Marmalade", "a touch far", "wash stuck")


def photograph_of(loaded: LoadedPiece, by: Person, shade: str = "teal") -> Photograph:
    file = BytesIO()
    Image.new("RGB", (64, 48), shade).save(file, "JPEG")
    file.seek(0)
    (made,) = photographs_add(
        firing=loaded.firing,
        by=by,
        pictures=[prepare_picture(file)],
        loaded_piece=loaded,
        caption="for-her-eyes",
    )
    return made


@pytest.fixture
def kept(student: Person, keeper: Person) -> Firing:
    """A kept firing with a secret in each of its corners."""
    kiln = make_kiln()
    place = make_place(kiln, is_reference=True)
    schedule = make_schedule(keeper)
    revision = make_revision(schedule, written_for=kiln)
    opened_at = timezone.now() - timedelta(days=2)
    firing = make_firing(
        student,
        kiln=kiln,
        revision=revision,
        state="opened",
        is_private=True,
        notes="for-her-eyes",
        also_changed=["glass_batch"],
        also_changed_note="for-her-eyes",
        recorded_peak_c=806.0,
        started_at=opened_at - timedelta(days=1),
        opened_at=opened_at,
    )
    loaded = load_piece(
        firing,
        title="Wedding bowl",
        glass=make_glass(colour="Marmalade"),
        place=place,
        verdict=1,
        judged_by=student,
        judged_at=timezone.now(),
        wanted="for-her-eyes",
        remarks="for-her-eyes",
    )
    Fault.objects.create(loaded_piece=loaded, kind="stuck_wash", noted_by=student)
    FiringEvent.objects.create(firing=firing, kind="vented", note="for-her-eyes", noted_by=student)
    SpotReading.objects.create(
        firing=firing,
        at=opened_at - timedelta(hours=20),
        temperature_c=620.0,
        note="for-her-eyes",
        noted_by=student,
    )
    photograph_of(loaded, student)
    recorded(firing, by=student)
    ForecastScore.objects.create(
        firing=firing, forecast=make_forecast(firing), fired="as_it_stood", verdict=1
    )
    return firing


def pages_about(firing: Firing) -> list[str]:
    schedule, kiln = firing.revision.schedule_id, firing.kiln_id
    loaded = firing.load.get()
    beside = make_firing(
        firing.fired_by, kiln=firing.kiln, revision=firing.revision, state="opened", title="Beside"
    )
    named = f"firing={firing.pk}&firing={beside.pk}"
    return [
        reverse("firings:firing_detail", args=[firing.pk]),
        reverse("firings:load_edit", args=[firing.pk]),
        reverse("firings:logbook"),
        reverse("firings:logbook") + "?words=Beside",
        reverse("firings:logbook_csv"),
        reverse("firings:side_by_side") + f"?{named}",
        reverse("firings:side_by_side_csv") + f"?{named}",
        reverse("firings:schedule_tuning", args=[schedule]),
        reverse("firings:schedule_forecasts", args=[schedule]),
        reverse("schedules:schedule_detail", args=[schedule]),
        reverse("firings:kiln_history", args=[kiln]),
        reverse("firings:kilns_now"),
        reverse("firings:today"),
        reverse("firings:calendar"),
        reverse("firings:conversation_list"),
        reverse("firings:comparison_csv", args=[firing.pk]),
        reverse("firings:comparison_json", args=[firing.pk]),
        reverse("firings:recording_csv", args=[firing.pk]),
        reverse("firings:firing_chart_data", args=[firing.pk]),
        reverse("firings:piece_detail", args=[loaded.piece_id]),
        reverse("firings:piece_label", args=[loaded.piece_id]),
        reverse("firings:load_labels", args=[firing.pk]),
        reverse("firings:firing_afterwards") + f"?kiln={kiln}",
        reverse("firings:waiting_add"),
        reverse("firings:piece_add", args=[make_firing(firing.written_by).pk])
        + f"?piece={loaded.piece_id}",
        reverse("studio:trail_detail", args=["firing", firing.pk]),
    ]


def said(answer: object) -> str:
    if getattr(answer, "streaming", False):
        return b"".join(answer.streaming_content).decode()  # type: ignore[attr-defined]
    return answer.content.decode()  # type: ignore[attr-defined]


def without_choices(text: str) -> str:
    """Without what a form offers to everybody: all verdicts, all faults."""
    return "".join(part.partition("</select>")[2] or part for part in text.split("<select"))


@pytest.mark.parametrize("role", ["artist", "student", "instructor"])
def test_no_page_shows_what_another_keeps(role: str, kept: Firing, signed_in: Browser) -> None:
    make_class(make_person("oona", role="instructor"), students=[kept.fired_by])
    browser = signed_in(make_person("other", role=role))
    photograph = kept.photographs.get()

    for address in pages_about(kept):
        answer = browser.get(address)
        text = without_choices(said(answer))
        if "/tuning/" in address or "/afterwards/" in address:  # they name each verdict
            text = text.replace("a touch far", "")
        assert answer.status_code in (200, 403), address
        for secret in (*SECRETS, reverse("firings:photograph_file", args=[photograph.pk, "small"])):
            assert secret not in text, f"{secret} in {address}"


def test_tuning_lists_what_is_kept_and_counts_it_for_whom_it_is_shown_to(
    kept: Firing, signed_in: Browser
) -> None:
    address = reverse("firings:schedule_tuning", args=[kept.revision.schedule_id])

    other = signed_in(make_person("other")).get(address).context
    own = signed_in(kept.fired_by).get(address).context

    (row,) = other["tuned"]
    assert (row.is_kept, row.verdict, row.faults, row.photograph) == (True, None, (), None)
    assert other["pictured"] == []
    assert other["shelf"] is None
    assert (other["tuning"].past, own["tuning"].past.keys()) == ({}, {kept.pk})
    assert own["tuned"][0].verdict == 1
    assert own["shelf"].lines


def test_the_logbook_still_shows_who_fired_what(kept: Firing, signed_in: Browser) -> None:
    browser = signed_in(make_person("other"))

    page = browser.get(reverse("firings:logbook")).text
    firing = browser.get(reverse("firings:firing_detail", args=[kept.pk])).text

    assert kept.fired_by.name in page
    assert kept.revision.schedule.name in page
    assert "806 °C" in page
    assert "kept" in page
    assert f"They are kept by {kept.fired_by.name}." in firing


@pytest.mark.parametrize("reader", ["own", "taught", "keeper"])
def test_whose_it_is_and_who_teaches_them_sees_all(
    reader: str, kept: Firing, keeper: Person, instructor: Person, signed_in: Browser
) -> None:
    make_class(instructor, students=[kept.fired_by])
    person = {"own": kept.fired_by, "taught": instructor, "keeper": keeper}[reader]
    photograph = kept.photographs.get()

    text = signed_in(person).get(reverse("firings:firing_detail", args=[kept.pk])).text

    for secret in ("Wedding bowl", "for-her-eyes", "Marmalade", "a touch far"):
        assert secret in text
    assert reverse("firings:photograph_file", args=[photograph.pk, "small"]) in text


@pytest.mark.parametrize(
    "asked", ["words=Wedding", "words=for-her-eyes", "words=Marmalade", "verdict=1",
              "fault=stuck_wash"]
)  # fmt: skip
def test_no_filter_tells_what_is_kept(asked: str, kept: Firing, signed_in: Browser) -> None:
    found = signed_in(make_person("other")).get(reverse("firings:logbook") + f"?{asked}")
    own = signed_in(kept.fired_by).get(reverse("firings:logbook") + f"?{asked}")

    assert [row.firing for row in found.context["rows"]] == []
    if asked != "words=Marmalade":  # glass is not searched
        assert [row.firing.pk for row in own.context["rows"]] == [kept.pk]


def test_it_is_ticked_while_planning_and_put_right_later(
    student: Person, artist: Person, signed_in: Browser
) -> None:
    kiln = make_kiln()
    revision = make_revision(make_schedule(student), written_for=kiln)
    browser = signed_in(student)
    sent = {"kiln": kiln.pk, "revision": revision.pk, "fired_by": student.pk, "is_private": "on"}

    browser.post(reverse("firings:firing_plan"), sent)

    firing = Firing.objects.get()
    assert firing.is_private
    load_piece(firing, title="Wedding bowl")
    page = reverse("firings:firing_detail", args=[firing.pk])
    assert "Wedding bowl" not in signed_in(artist).get(page).text

    del sent["is_private"]
    browser.post(reverse("firings:firing_edit", args=[firing.pk]), sent)
    assert not Firing.objects.get().is_private
    assert "Wedding bowl" in signed_in(artist).get(page).text


def test_another_s_piece_in_a_kept_firing_is_seen_by_its_maker(
    kept: Firing, artist: Person, signed_in: Browser
) -> None:
    load_piece(kept, maker=artist, title="A guest")

    page = signed_in(artist).get(reverse("firings:firing_detail", args=[kept.pk])).text

    assert "A guest" in page
    assert "Wedding bowl" not in page


def test_conditions_of_queries_say_what_the_table_says(
    keeper: Person, instructor: Person, student: Person, artist: Person
) -> None:
    mate, stranger = make_person("mate", role="student"), make_person("far", role="student")
    other_instructor = make_person("jo", role="instructor")
    make_class(instructor, students=[student, mate])
    make_class(other_instructor, students=[make_person("new", role="student")])
    people = [keeper, instructor, other_instructor, student, mate, stranger, artist]
    for firer, maker, private in product((student, artist, stranger), people, (True, False)):
        firing = make_firing(firer, state="opened", is_private=private)
        loaded = load_piece(firing, maker=maker)
        for taker in {firer, maker}:
            Photograph.objects.create(
                firing=firing,
                loaded_piece=loaded,
                taken_by=taker,
                picture="a.jpg",
                small="b.jpg",
                width=1,
                height=1,
                digest=f"{taker.pk}",
            )
    for person in people:
        reader = Person.objects.get(pk=person.pk)
        may_see = {f.pk for f in Firing.objects.all() if access.may(reader, "firing.see_load", f)}
        assert set(Firing.objects.filter(open_load(reader)).values_list("pk", flat=True)) == may_see
        firings = list(Firing.objects.select_related("fired_by"))
        assert kept_among(reader, firings) == {f.pk for f in firings} - may_see
        assert {f.pk for f in firings if is_kept_from(reader, f)} == kept_among(reader, firings)
        pieces = {
            each.pk
            for each in LoadedPiece.objects.select_related("firing", "piece__maker")
            if each.firing_id in may_see or access.may(reader, "piece.see", each)
        }
        assert set(visible_load(reader).values_list("pk", flat=True)) == pieces
        photographs = {
            each.pk
            for each in Photograph.objects.select_related("firing__fired_by", "loaded_piece__piece")
            if access.may(reader, "firing.see_load", each)
        }
        assert set(visible_photographs(reader).values_list("pk", flat=True)) == photographs
        seen = set(LoadedPiece.objects.filter(pk__in=pieces).values_list("piece", flat=True))
        own = set(Piece.objects.filter(maker=reader).values_list("pk", flat=True))
        assert set(visible_pieces(reader).values_list("pk", flat=True)) == seen | own


WAYS = {
    "by its number": {},
    "only a head": {"method": "head"},
    "a part of it": {"headers": {"Range": "bytes=0-99"}},
    "if it changed since": {"headers": {"If-Modified-Since": "Wed, 01 Jan 2020 00:00:00 GMT"}},
    "if its tag is another": {"headers": {"If-None-Match": '"abc"'}},
    "any tag": {"headers": {"If-None-Match": "*"}},
    "as a fragment": {"headers": {"HX-Request": "true"}},
    "sent from another page": {"headers": {"Referer": "http://testserver/firings/1/"}},
    "under another method's name": {"headers": {"X-HTTP-Method-Override": "GET"}},
}


@pytest.mark.parametrize("size", ["small", "large"])
@pytest.mark.parametrize("way", WAYS)
def test_no_way_to_a_kept_photograph(
    way: str, size: str, kept: Firing, signed_in: Browser, outsider: Client
) -> None:
    address = reverse("firings:photograph_file", args=[kept.photographs.get().pk, size])
    how = dict(WAYS[way])
    method = how.pop("method", "get")

    for browser, wanted in ((signed_in(make_person("other")), 403), (outsider, 302)):
        answer = getattr(browser, method)(address, **how)
        assert answer.status_code == wanted
        assert not answer.streaming
        assert "image" not in answer.headers["Content-Type"]
        assert "ETag" not in answer.headers


def test_no_folder_of_photographs_is_served(kept: Firing, signed_in: Browser) -> None:
    photograph, browser = kept.photographs.get(), signed_in(make_person("other"))
    for name in (photograph.picture.name, photograph.small.name):
        for folder in ("", "media/", "photographs/", "static/", "static/../photographs/"):
            assert browser.get(f"/{folder}{name}").status_code in (403, 404)


def test_a_session_that_ended_shows_no_photograph(kept: Firing, signed_in: Browser) -> None:
    address = reverse("firings:photograph_file", args=[kept.photographs.get().pk, "large"])
    browser = signed_in(kept.fired_by)
    first = browser.get(address)
    assert first.status_code == 200
    assert "private" in first.headers["Cache-Control"]
    cookie = browser.cookies["sessionid"].value

    browser.post(reverse("studio:sign_out"))
    browser.cookies["sessionid"] = cookie

    assert browser.get(address).status_code == 302


def test_a_closed_account_shows_no_photograph(kept: Firing, signed_in: Browser) -> None:
    address = reverse("firings:photograph_file", args=[kept.photographs.get().pk, "large"])
    browser = signed_in(kept.fired_by)

    Person.objects.filter(pk=kept.fired_by_id).update(is_active=False)

    assert browser.get(address).status_code == 302


def test_a_photograph_is_never_lent_by_a_form(kept: Firing, signed_in: Browser) -> None:
    """A photograph is added to a piece of one's own firing, never to one that is kept."""
    artist = make_person("other")
    firing, loaded = make_firing(artist), kept.load.get()

    form = signed_in(artist).get(reverse("firings:photograph_add", args=[firing.pk]))
    piece = signed_in(artist).get(reverse("firings:piece_edit", args=[loaded.pk]))

    assert "Wedding bowl" not in form.text
    assert piece.status_code == 403


def test_the_logger_s_file_is_kept_and_its_readings_are_not(
    kept: Firing, signed_in: Browser
) -> None:
    browser, file = signed_in(make_person("other")), kept.recording_files.get()

    assert browser.get(reverse("firings:recording_original", args=[file.pk])).status_code == 403
    assert browser.get(reverse("firings:recording_csv", args=[kept.pk])).status_code == 200
    assert file.name not in browser.get(reverse("firings:firing_detail", args=[kept.pk])).text
    own = signed_in(kept.fired_by)
    assert own.get(reverse("firings:recording_original", args=[file.pk])).status_code == 200
