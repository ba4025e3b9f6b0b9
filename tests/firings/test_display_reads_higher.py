"""A display that was made to read 12 °C higher, its offset set 12 °C lower: the glass is the same.

Two kilns stand side by side in one studio. Wren is Heron with such a display: what is keyed, shown
and noted of it is 12 °C higher, everywhere. Whatever a page advises must then be the same, but for
the display's own figures.
"""

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from firings.models import Fault, Firing
from schedules.models import Revision
from studio.models import Kiln, Person
from tests.factories import (
    FULL_FUSE,
    load_piece,
    make_family,
    make_firing,
    make_kiln,
    make_revision,
    make_schedule,
)
from tests.firings.logger_files import recorded

SHIFT = 12
START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
LIMIT_C, RISE_AT_700 = 1150.0, 320.0
SHOWN = re.compile(r"(\d{3,4})(?= °C(?!/h))")
"""A temperature of a display; differences and rates of these pages have fewer figures."""
STEP = re.compile(r"\b(\d{1,2}) °C(?!/h)")
"""A difference: one that lies between two degrees may round either way, for the room is 20 °C by
both displays, so that the kilns cool at the top by a tenth of a degree apart."""


def kiln_with(shift: int) -> Kiln:
    """As fast a kiln, seen by a display that reads so much higher."""
    return make_kiln(
        "Wren" if shift else "Heron",
        offset_c=5.0 - shift,
        max_temperature_c=950.0 + shift,
        full_power_limit_c=LIMIT_C + shift,
        rise_at_700_c_per_h=RISE_AT_700 * (LIMIT_C + shift - 700.0) / (LIMIT_C - 700.0),
        cooling_constant_h=5.0,
        slow_cooling_constant_h=None,
    )


def written(person: Person, family: object, kiln: Kiln, shift: int, **facts: object) -> Revision:
    return make_revision(
        make_schedule(person, family=family, name=f"Full fuse for {kiln.name}", **facts),
        [(rate, str(int(target) + shift), hold) for rate, target, hold in FULL_FUSE],
        written_for=kiln,
    )


def fired(
    person: Person,
    revision: Revision,
    kiln: Kiln,
    shift: int,
    day: int,
    verdict: int | None,
    *,
    faults: tuple[str, ...] = (),
    off_by: float = 0.0,
    also_changed: tuple[str, ...] = (),
    logged: bool = False,
) -> Firing:
    start = START + timedelta(days=day)
    firing = make_firing(
        person,
        kiln=kiln,
        revision=revision,
        state="opened",
        started_at=start,
        opened_at=start + timedelta(hours=20),
        room_temperature_c=20.0,  # by the thermometer on the wall
        recorded_peak_c=None if logged else 804.0 + off_by + shift,
        recorded_hold_s=None if logged else 600,
        also_changed=list(also_changed),
    )
    piece = load_piece(firing, verdict=verdict, judged_by=person)
    for kind in faults:
        Fault.objects.create(loaded_piece=piece, kind=kind, noted_by=person)
    if logged:
        recorded(firing, by=person)
    return firing


HISTORIES: dict[str, list[tuple[int | None, dict[str, object]]]] = {
    "short thrice": [(-1, {}), (-1, {}), (-1, {})],
    "well past": [(2, {})],
    "as wanted": [(0, {}), (0, {})],
    "contradictory": [(-2, {}), (2, {}), (-2, {})],
    "hazy": [(1, {"faults": ("devitrification",)})],
    "cracked": [(0, {"faults": ("crack_sharp",)})],
    "plan missed": [(-1, {"off_by": -9.0})],
    "something else changed": [(-1, {}), (1, {"also_changed": ("mould",)})],
    "by a logger": [(-1, {"logged": True}), (-1, {"logged": True})],
    "not judged": [(None, {})],
}


@pytest.fixture
def twins(artist: Person, request: pytest.FixtureRequest) -> list[Firing]:
    """The last firing of one history in Heron, and of the same in Wren."""
    family = make_family()
    last = []
    for shift in (0, SHIFT):
        kiln = kiln_with(shift)
        revision = written(artist, family, kiln, shift)
        for day, (verdict, facts) in enumerate(HISTORIES[request.param]):
            firing = fired(artist, revision, kiln, shift, day, verdict, **facts)
        last.append(firing)
    return last


def in_heron(text: str, shift: int) -> str:
    """Words of a page as they would be read in Heron: its display, its name, its firings."""
    plain = re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", text))).strip()
    plain = SHOWN.sub(lambda seen: str(int(seen[1]) - shift), plain)
    return re.sub(r"(?i)firing \d+", "firing", plain.replace("Wren", "Heron"))


def note_on(client: Client, firing: Firing) -> str:
    page = client.get(reverse("firings:firing_detail", args=[firing.pk])).content.decode()
    start = page.index('<section class="card note"')
    return page[start : page.index("</section>", start)]


@pytest.mark.parametrize("twins", HISTORIES, indirect=True)
def test_the_next_time_note_reads_the_same(artist: Person, twins: list[Firing], signed_in) -> None:
    client = signed_in(artist)

    heron, wren = (note_on(client, firing) for firing in twins)

    in_wren, in_own = in_heron(wren, SHIFT), in_heron(heron, 0)
    assert STEP.sub("n °C", in_wren) == STEP.sub("n °C", in_own)
    for other, own in zip(STEP.findall(in_wren), STEP.findall(in_own), strict=True):
        assert int(other) == pytest.approx(int(own), abs=1)


@pytest.mark.parametrize("twins", ["short thrice", "well past", "by a logger"], indirect=True)
def test_the_revision_that_it_makes_is_the_same(
    artist: Person, twins: list[Firing], signed_in
) -> None:
    client = signed_in(artist)
    for firing in twins:
        page = client.get(reverse("firings:firing_detail", args=[firing.pk]))
        note = page.context["page"].note
        assert note.advice.action == "change"
        taken = {
            "newest_seen": note.newest.number,
            "size_seen": note.size,
            "form_key": str(page.context["form_key"]),
        }
        client.post(reverse("firings:note_take", args=[firing.pk]), taken)

    heron, wren = (firing.revision.schedule.revisions.get(number=2) for firing in twins)

    assert [segment.target + SHIFT for segment in heron.segments.all()] == [
        segment.target for segment in wren.segments.all()
    ]
    for part in ("rate", "hold_minutes"):
        assert list(heron.segments.values_list(part)) == list(wren.segments.values_list(part))
    assert (
        heron.segments.get(position=3).target != Decimal(804)
        or heron.segments.get(position=3).hold_minutes != 10
    )
    assert in_heron(wren.reason, SHIFT) == in_heron(heron.reason, 0)


@pytest.mark.parametrize("thickest_mm", [6.0, 19.0])
def test_what_is_said_before_it_is_fired_is_the_same(
    artist: Person, signed_in, thickest_mm: float
) -> None:
    """Remarks on the schedule for the kiln that it is written for, with their numbers."""
    client, family = signed_in(artist), make_family()
    found = []
    for shift in (0, SHIFT):
        kiln = kiln_with(shift)
        revision = written(artist, family, kiln, shift, thickest_mm=thickest_mm)
        address = reverse("firings:firing_plan")
        page = client.get(address, {"revision": revision.pk, "kiln": kiln.pk}).content.decode()
        found.append([in_heron(each, shift) for each in remarks_in(page)])

    heron, wren = found
    assert wren == heron
    assert bool(heron) == (thickest_mm > 6)


def remarks_in(page: str) -> list[str]:
    return re.findall(r'<(?:div|p|li) class="remark[^"]*".*?</(?:div|p|li)>', page, re.DOTALL)
