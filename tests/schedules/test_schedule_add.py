import uuid
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from schedules.models import Schedule
from studio.formats import plain
from studio.models import GlassFamily, Person
from tests.factories import make_family, make_kiln, make_revision, make_schedule
from tests.schedules.editor_forms import FUSE, Row, schedule_sent

SignIn = Callable[[Person], Client]
URL = reverse("schedules:schedule_add")


@pytest.fixture
def family(db: None) -> GlassFamily:
    return make_family()


def test_page_starts_in_the_readers_unit(artist: Person, signed_in: SignIn) -> None:
    artist.unit = "F"
    artist.save()
    response = signed_in(artist).get(URL)
    assert response.status_code == 200
    assert '<option value="F" selected>' in response.content.decode()


def test_schedule_is_kept_as_written(
    family: GlassFamily, student: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln(controller_step=Decimal("0.5"))
    response = signed_in(student).post(
        URL, schedule_sent(family.pk, [("6,7", "540", ""), ("full power", "804.5", "1 h 30")], kiln)
    )
    schedule = Schedule.objects.get()
    assert response.headers["Location"] == reverse("schedules:schedule_detail", args=[schedule.pk])
    revision = schedule.revisions.get()
    assert (schedule.owner, revision.made_by, revision.written_for) == (student, student, kiln)
    assert revision.reason == "First writing."
    assert [(row.rate, row.target, row.hold_minutes) for row in revision.segments.all()] == [
        (Decimal("6.7"), 540, 0),
        (None, Decimal("804.5"), 90),
    ]


def test_empty_rows_count_for_nothing(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    empty: Row = ("", "", "")
    signed_in(artist).post(URL, schedule_sent(family.pk, [FUSE[0], empty, *FUSE[1:], empty]))
    assert Schedule.objects.get().revisions.get().segments.count() == 3


def test_form_sent_twice_makes_one_schedule(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    browser, sent = signed_in(artist), schedule_sent(family.pk, form_key=str(uuid.uuid4()))
    first, second = browser.post(URL, sent), browser.post(URL, sent)
    assert Schedule.objects.count() == 1
    assert first.headers["Location"] == second.headers["Location"]


@pytest.mark.parametrize(
    ("rows", "position", "field", "message"),
    [
        ([("fast", "540", "")], 0, "rate", "or leave it empty for full power"),
        ([("0", "540", "")], 0, "rate", "A rate is above 0"),
        ([("-150", "540", "")], 0, "rate", "A rate is above 0"),
        ([("1500", "540", "")], 0, "rate", "At most 1000 °C/h"),
        ([("150", "", "10")], 0, "target", "Each segment has a target."),
        ([("150", "hot", "")], 0, "target", "Enter a number, such as 804."),
        ([("150", "1400", "")], 0, "target", "Between 20 °C and 1300 °C"),
        ([("150", "540.125", "")], 0, "target", "Two decimals at the most."),
        ([("150", "540", "-5")], 0, "hold", "A hold can’t be negative"),
        ([("150", "540", "−5")], 0, "hold", "A hold can’t be negative"),
        ([("150", "540", "a while")], 0, "hold", "Write hours and minutes as 1:30"),
        ([("150", "540", ""), ("50", "540", "")], 1, "target", "isn’t held"),
    ],
)
def test_wrong_number_is_told_at_its_field_and_all_is_kept(
    family: GlassFamily,
    artist: Person,
    signed_in: SignIn,
    rows: list[Row],
    position: int,
    field: str,
    message: str,
) -> None:
    response = signed_in(artist).post(URL, schedule_sent(family.pk, rows))
    assert response.status_code == 200
    form = response.context["editor"].segments.forms[position]
    assert message in plain(form.errors[field][0])
    text = response.content.decode()
    assert f'id="id_segments-{position}-{field}_error"' in text
    for kept in ("Tide fuse", "Keep an eye on the corners.", *filter(None, sum(rows, ()))):
        assert kept in text
    assert not Schedule.objects.exists()


def test_held_target_may_stay_where_it_is(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    rows: list[Row] = [("150", "540", ""), ("", "540", "30")]
    signed_in(artist).post(URL, schedule_sent(family.pk, rows))
    assert Schedule.objects.count() == 1


@pytest.mark.parametrize(
    ("kiln", "rows", "position", "message"),
    [
        ({"max_temperature_c": 800}, FUSE, 1, "highest temperature is 800 °C"),
        ({"full_power_limit_c": 790}, FUSE, 1, "can’t reach this"),
        ({"controller_step": Decimal(5)}, FUSE, 1, "takes steps of 5 °C"),
        ({}, [*FUSE, ("", "21", "")], 3, "can’t cool to this"),
    ],
)
def test_kilns_limits_are_told_at_the_target(
    family: GlassFamily,
    artist: Person,
    signed_in: SignIn,
    kiln: dict[str, object],
    rows: list[Row],
    position: int,
    message: str,
) -> None:
    made = make_kiln("Ember", **kiln)
    response = signed_in(artist).post(URL, schedule_sent(family.pk, rows, made))
    form = response.context["editor"].segments.forms[position]
    assert message in plain(form.errors["target"][0])
    assert not Schedule.objects.exists()


def test_limit_is_told_in_the_unit_that_is_written(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln("Ember", max_temperature_c=800)
    rows: list[Row] = [("300", "1480", "10")]
    response = signed_in(artist).post(URL, schedule_sent(family.pk, rows, kiln, unit="F"))
    assert "1472 °F" in plain(response.context["editor"].segments.forms[0].errors["target"][0])


def test_more_segments_than_the_controller_takes(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln("Ember", controller_segments=2)
    response = signed_in(artist).post(URL, schedule_sent(family.pk, FUSE, kiln))
    assert "The controller takes 2 segments, and these are 3." in response.content.decode()
    assert not Schedule.objects.exists()


def test_schedule_without_a_segment_is_refused(
    family: GlassFamily, artist: Person, signed_in: SignIn
) -> None:
    response = signed_in(artist).post(URL, schedule_sent(family.pk, [("", "", "")]))
    assert "There is no segment yet." in response.content.decode()
    assert not Schedule.objects.exists()


def test_family_is_wanted_but_for_metal_clay(artist: Person, signed_in: SignIn) -> None:
    browser, sent = signed_in(artist), schedule_sent(0, family="")
    response = browser.post(URL, sent)
    assert response.context["editor"].facts.errors["family"] == ["Choose the family of the glass."]
    browser.post(URL, sent | {"process": "metal_clay"})
    assert Schedule.objects.get().family is None


@pytest.mark.parametrize("missing", ["segments-TOTAL_FORMS", "unit", "name", "process"])
def test_form_with_a_part_missing_comes_back(
    family: GlassFamily, artist: Person, signed_in: SignIn, missing: str
) -> None:
    sent = schedule_sent(family.pk)
    del sent[missing]
    assert signed_in(artist).post(URL, sent).status_code == 200
    assert not Schedule.objects.exists()


def test_another_schedule_is_begun_from_a_revision(
    artist: Person, student: Person, signed_in: SignIn
) -> None:
    theirs = make_revision(make_schedule(artist), [("300", "1480", 10)], unit="F")
    browser, address = signed_in(student), f"{URL}?from={theirs.pk}"
    text = browser.get(address).content.decode()
    assert 'value="1480"' in text
    assert '<option value="F" selected>' in text

    sent = schedule_sent(theirs.schedule.family_id, [("300", "1470", "10")], unit="F")
    browser.post(address, sent)
    begun = Schedule.objects.get(owner=student).revisions.get()
    assert (begun.number, begun.copied_from, begun.unit) == (1, theirs, "F")
    assert theirs.schedule.revisions.count() == 1


@pytest.mark.parametrize("source", ["999", "x"])
def test_a_source_that_is_not_there_is_a_plain_page(
    artist: Person, signed_in: SignIn, source: str
) -> None:
    assert signed_in(artist).get(f"{URL}?from={source}").status_code == 404


def test_outsider_is_led_to_sign_in(outsider: Client, family: GlassFamily) -> None:
    assert outsider.post(URL, schedule_sent(family.pk)).status_code == 302
    assert not Schedule.objects.exists()


def test_other_methods_are_refused(artist: Person, signed_in: SignIn) -> None:
    assert signed_in(artist).put(URL).status_code == 405
