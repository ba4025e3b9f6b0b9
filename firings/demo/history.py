"""A year of the demo studio, lived through in order: fire, open, judge, take the note, fire again.

Verdicts follow the hidden rule in `written.py`; the changes between firings are those that the
site itself advised, so that every page of the demo shows what a year of use would have made.
"""

import io
import math
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal

from firings.actions.booking import feed_make
from firings.actions.forecasting import forecast_give
from firings.actions.photographs import photographs_add
from firings.actions.spot_readings import spot_reading_add
from firings.actions.tuning import note_take
from firings.core_inputs import keyed_curve
from firings.demo.moving import move_newest
from firings.demo.recorded import record, send_so_far
from firings.demo.rendering import Look, render
from firings.demo.written import SCHEDULES, DemoSchedule
from firings.models import (
    EventKind,
    Fault,
    Firing,
    FiringEvent,
    FiringState,
    Forecast,
    LoadedPiece,
    Piece,
)
from firings.queries.tuning import next_time_note
from schedules.actions.revision import revision_make
from schedules.core_inputs import core_segments, curve_of, response_of
from schedules.models import Revision, Schedule
from schedules.services.curve import planned_curve
from studio.core_inputs import glass_of
from studio.models import GlassFamily, GlassKind, Kiln, Person, Studio
from studio.pictures import prepare_picture

# What nobody in the studio knows: how far each kiln's glass really is from its display, °C.
TRUE_OFFSET = {"Heron": 0.5, "Wren": 7.5, "Bittern": -6.5}
COLD_PLACE = ("Heron", "front left")  # a draught from the door
COLD_BY_C = 5.0
JUDGE_NOISE = 0.35


@dataclass(frozen=True)
class Day:
    """One firing of the year: which schedule, its how-manieth, where and when."""

    demo: DemoSchedule
    turn: int
    kiln: str
    starts_at: datetime


def calendar(now: datetime) -> Iterator[Day]:
    """All firings of the year in order, no two on one day, each schedule spread over its year."""
    turns = [
        ((turn + 0.5) / demo.firings + 0.003 * index, demo, turn)
        for index, demo in enumerate(SCHEDULES)
        for turn in range(demo.firings)
    ]
    turns.sort(key=lambda each: each[0])
    first = now - timedelta(days=358)
    step = timedelta(days=355) / len(turns)
    for number, (_, demo, turn) in enumerate(turns):
        day = first + number * step
        starts_at = day.replace(hour=9 + number % 9, minute=5 * (number % 12), second=0)
        yield Day(demo, turn, demo.kilns[turn % len(demo.kilns)], starts_at)


class Year:
    """The demo's year; `live` writes it."""

    def __init__(
        self,
        studio: Studio,
        people: dict[str, Person],
        kilns: dict[str, Kiln],
        families: dict[str, GlassFamily],
        glass: dict[str, GlassKind],
        now: datetime,
    ) -> None:
        self.studio = studio
        self.people, self.kilns, self.families, self.glass = people, kilns, families, glass
        self.now = now.replace(microsecond=0)
        self.chance = random.Random(20)  # noqa: S311 — the same year each time
        self.schedules: dict[str, Schedule] = {}
        self.wanted: dict[str, float] = {}
        self.fused: dict[int, list[Piece]] = {}  # by maker: fused once, and not fired since

    def live(self) -> None:
        days = list(calendar(self.now))
        for number, day in enumerate(days):
            if day.demo.name not in self.schedules:
                self._write(day)
            firing = self._fire(day)
            record(firing, number, self.studio.time_zone)
            not_judged_yet = number >= len(days) - 3
            self._load(day, firing, judged=not not_judged_yet)
            if not not_judged_yet:
                forecast = self._forecast(day, firing)
                if day.turn < day.demo.firings - 1:
                    self._tune(day, firing, forecast)
        move_newest(
            schedule=self.schedules["Slump, shallow bowl"],
            from_kiln=self.kilns["Heron"],
            to=self.kilns["Wren"],
            by=self.people["ravi"],
            studio=self.studio,
            at=self.now,
        )
        self._this_week()

    def _write(self, day: Day) -> None:
        demo, owner = day.demo, self.people[day.demo.owner]
        schedule = Schedule.objects.create(
            name=demo.name,
            process=demo.process,
            family=self.families[demo.family],
            thinnest_mm=demo.thinnest_mm,
            thickest_mm=demo.thickest_mm,
            owner=owner,
            made_at=day.starts_at - timedelta(days=2),
        )
        kiln = self.kilns[demo.kilns[0]]
        revision = revision_make(
            schedule=schedule,
            by=owner,
            segments=demo.written(),
            unit=demo.unit,
            reason=demo.reason,
            written_for=kiln,
        )
        Revision.objects.filter(pk=revision.pk).update(made_at=schedule.made_at)
        self.schedules[demo.name] = schedule
        self.wanted[demo.name] = demo.wanted_shift + self._ln_work(revision, kiln, day.demo, 0.0)

    def _ln_work(
        self,
        revision: Revision,
        kiln: Kiln,
        demo: DemoSchedule,
        hotter_c: float,
        longer_s: float = 0.0,
    ) -> float:
        """ln of the heat work that glass gets where its top is `hotter_c` above what is written."""
        segments = core_segments(revision)
        top = max(range(len(segments)), key=lambda index: segments[index].target)
        segments[top] = replace(
            segments[top],
            target=segments[top].target + hotter_c,
            hold=max(segments[top].hold + longer_s, 0.0),
        )
        curve = planned_curve(segments, response_of(kiln))
        return math.log(curve.heat_work(glass_of(None, self.families[demo.family])))

    def _fire(self, day: Day) -> Firing:
        demo, kiln = day.demo, self.kilns[day.kiln]
        by = self.people[demo.owner]
        schedule = self.schedules[demo.name]
        revision = schedule.revisions.first()
        assert revision is not None  # noqa: S101 — written above
        curve = curve_of(revision, kiln)
        duration = curve.duration or 0.0
        age = (day.starts_at - self.now).days / 365 + 1  # 0 a year ago … 1 today
        tired = kiln.name == "Bittern"
        late = 1 + self.chance.gauss(0.012, 0.008) + (0.07 * age if tired else 0)
        missed = tired and age > 0.8
        miss = -self.chance.uniform(6, 9) if missed else self.chance.gauss(0, 0.9)
        hold_miss_s = 60 * round(self.chance.gauss(0, 0.4))
        room = 13 + 9 * math.sin(math.pi * age) + self.chance.gauss(0, 1.5)
        opened_after = curve.cool_to(45.0) or duration * 1.8
        opened_at = day.starts_at + timedelta(
            seconds=opened_after * late + self.chance.uniform(0, 5) * 3600
        )
        top_hold = max(core_segments(revision), key=lambda segment: segment.target).hold
        firing = Firing.objects.create(
            title=f"{demo.titles[day.turn % len(demo.titles)]} {day.turn + 1}",
            kiln=kiln,
            revision=revision,
            fired_by=by,
            written_by=by,
            state=FiringState.OPENED,
            made_at=day.starts_at - timedelta(hours=1),
            planned_start=day.starts_at,
            started_at=day.starts_at + timedelta(minutes=self.chance.randint(0, 12)),
            opened_at=min(opened_at, self.now - timedelta(minutes=50)),
            opened_by=by,
            opened_temperature_c=round(self.chance.uniform(28, 46)),
            recorded_peak_c=round(curve.peak + miss),
            recorded_hold_s=max(0, int(top_hold + hold_miss_s)),
            recorded_duration_s=int(duration * late / 60) * 60,
            room_temperature_c=round(room, 1),
            notes=self._notes(missed),
        )
        if self.chance.random() < 0.3:
            firing.energy_kwh = Decimal(f"{(kiln.power_kw or 3) * duration / 3600 * 0.42:.1f}")
        if day.turn and self.chance.random() < 0.08:
            firing.also_changed = [self.chance.choice(["glass_batch", "shelf_coat", "place"])]
            firing.also_changed_note = "noted while loading"
        firing.save()
        self._events(day, firing, by)
        return firing

    def _notes(self, missed: bool) -> str:
        if missed:
            return "It crept up the last forty degrees, and turned back short of the target."
        return self.chance.choice(
            ("", "", "", "Quiet firing.", "Looked in at the top for a moment.", "Full shelf.")
        )

    def _events(self, day: Day, firing: Firing, by: Person) -> None:
        if self.chance.random() > 0.08 or firing.started_at is None:
            return
        kind = self.chance.choice([EventKind.VENTED, EventKind.WENT_ON_EARLY])
        FiringEvent.objects.create(
            firing=firing,
            kind=kind,
            happened_at=firing.started_at + timedelta(hours=3),
            minutes=5 if kind == EventKind.VENTED else None,
            noted_by=by,
        )

    def _load(self, day: Day, firing: Firing, *, judged: bool) -> None:
        demo = day.demo
        owner = self.people[demo.owner]
        places = list(firing.kiln.places.order_by("-is_reference", "pk"))
        others = [p for p in self.people.values() if p != owner and p.role != "keeper"]
        for n in range(1 + self.chance.choice((0, 0, 1, 1, 2))):
            maker = owner if n == 0 else self.chance.choice(others)
            place = places[0] if n == 0 else self.chance.choice(places[1:])
            title = demo.titles[(day.turn + n) % len(demo.titles)]
            loaded = LoadedPiece.objects.create(
                firing=firing,
                piece=self._piece(
                    demo, maker, title if n == 0 else f"{title}, smaller", firing.made_at
                ),
                glass=self.glass[f"{demo.family}: {demo.colours[0]}"],
                layers=demo.layers,
                thickest_mm=demo.thickest_mm,
                thinnest_mm=demo.thinnest_mm,
                length_mm=demo.size_mm[0] * (1 if n == 0 else 0.7),
                width_mm=demo.size_mm[1] * (1 if n == 0 else 0.7),
                place=place,
                mould=demo.mould,
                wanted=demo.wanted,
                is_served=n == 0,
            )
            loaded.other_glasses.set(self._other_glasses(demo))
            heat = self._came_out(day, firing, loaded)
            if judged:
                self._judge(day, loaded, heat, maker)
            self._photograph(day, loaded, heat, maker, served=n == 0)

    def _other_glasses(self, demo: DemoSchedule) -> list[GlassKind]:
        """Those beside the first of its colours; a colour that its family lacks was painted on."""
        named = [f"{demo.family}: {colour}" for colour in demo.colours[1:]]
        return [self.glass[name] for name in named if name in self.glass]

    def _piece(self, demo: DemoSchedule, maker: Person, title: str, made_at: datetime) -> Piece:
        """A new piece, or one that its maker fused before and now slumps or polishes."""
        kept = self.fused.setdefault(maker.pk, [])
        if demo.process in ("slump", "fire_polish") and kept:
            return kept.pop()
        piece = Piece.objects.create(title=title, maker=maker, made_at=made_at)
        if demo.process.endswith("_fuse") and demo.family == "Millrace 90":
            kept.append(piece)
        return piece

    def _came_out(self, day: Day, firing: Firing, loaded: LoadedPiece) -> float:
        """How far the piece went, from −3 to 3: the hidden rule, and the judge's eye."""
        demo, kiln = day.demo, firing.kiln
        planned = curve_of(firing.revision, kiln).peak
        hotter = (firing.recorded_peak_c or planned) - planned + TRUE_OFFSET[kiln.name]
        if (kiln.name, loaded.place and loaded.place.name) == COLD_PLACE:
            hotter -= COLD_BY_C
        got = self._ln_work(firing.revision, kiln, demo, hotter)
        heat = demo.slope * (got - self.wanted[demo.name]) + self.chance.gauss(0, JUDGE_NOISE)
        return max(-3.0, min(3.0, heat))

    def _judge(self, day: Day, loaded: LoadedPiece, heat: float, maker: Person) -> None:
        assert loaded.firing.opened_at is not None  # noqa: S101 — all of the year's are opened
        loaded.verdict = max(-2, min(2, math.floor(heat + 0.5)))
        loaded.judged_by = maker
        loaded.judged_at = loaded.firing.opened_at + timedelta(minutes=20)
        grown = 1 + 0.006 * heat
        loaded.length_after_mm = round((loaded.length_mm or 0) * grown, 1)
        loaded.width_after_mm = round((loaded.width_mm or 0) * grown, 1)
        loaded.remarks = self.chance.choice(
            ("", "", "", "Edges read well by hand.", "Back is clean.", "A little wash to wipe off.")
        )
        loaded.save()
        kind, severity = "", 1
        if day.demo.faults and self.chance.random() < 0.22:
            kind, severity = self.chance.choice(day.demo.faults), self.chance.choice((1, 1, 2))
        if day.turn == day.demo.firings - 1 and loaded.is_served:
            kind, severity = day.demo.last_fault, 2
        if kind:
            Fault.objects.create(
                loaded_piece=loaded,
                kind=kind,
                severity=severity,
                seen_on=loaded.firing.opened_at.date(),
                noted_by=maker,
            )

    def _photograph(
        self, day: Day, loaded: LoadedPiece, heat: float, by: Person, *, served: bool
    ) -> None:
        demo = day.demo
        look = Look(
            shape=demo.shape,
            base=demo.colours[0],
            accents=demo.colours[1:],
            heat=heat * 0.75,
            relief=demo.relief,
            faults=tuple(loaded.faults.values_list("kind", flat=True)),
            seed=len(demo.name) * 7 + day.turn % len(demo.titles),
        )
        if served:
            self._add(loaded, "after", look, by)
            if day.turn % 3 == 0:
                # Before it is fired a bowl is still a flat blank.
                flat = "disc" if look.shape == "bowl" else look.shape
                self._add(loaded, "loaded", replace(look, heat=None, shape=flat, faults=()), by)

    def _add(self, loaded: LoadedPiece, moment: str, look: Look, by: Person) -> None:
        photographs_add(
            firing=loaded.firing,
            by=by,
            moment=moment,
            pictures=[prepare_picture(io.BytesIO(render(look)))],
            loaded_piece=loaded,
        )

    def _forecast(self, day: Day, firing: Firing) -> Forecast:
        """The note is kept as it was given on that day, and the one before it scored."""
        assert firing.opened_at is not None  # noqa: S101 — all of the year's are opened
        forecast = forecast_give(
            schedule=self.schedules[day.demo.name],
            kiln=firing.kiln,
            at=firing.opened_at + timedelta(minutes=30),
        )
        assert forecast is not None  # noqa: S101 — it was judged just before
        return forecast

    def _tune(self, day: Day, firing: Firing, forecast: Forecast) -> None:
        """Take the site's note where it asks for a change; people do so most of the time.

        A schedule is tuned in the kiln that it was written for; elsewhere it is only used.
        """
        if day.kiln != day.demo.kilns[0] or self.chance.random() < 0.15:
            return
        if not forecast.is_change:
            return
        assert firing.opened_at is not None  # noqa: S101 — all of the year's are opened
        moment = firing.opened_at + timedelta(hours=2)
        owner = self.people[day.demo.owner]
        note = next_time_note(
            self.schedules[day.demo.name], firing.kiln, self.studio, moment, reader=owner
        )
        taken = note_take(
            firing=firing,
            by=owner,
            studio=self.studio,
            newest_seen=note.newest.number,
            size_seen=note.size,
            at=moment,
        )
        Revision.objects.filter(pk=taken.revision_id).update(made_at=moment)

    def _this_week(self) -> None:
        """What is going on now: one kiln fires, two firings wait, one was called off."""
        now = self.now
        feed_make(by=self.people["inka"])
        full_fuse = self.schedules["Full fuse, two layers"]
        slump = self.schedules["Slump, shallow bowl"]
        tack = self.schedules["Tack fuse, relief tiles"]
        plans = (
            ("Heron", full_fuse, "inka", "Tide blank, the large one", FiringState.FIRING, -3.2),
            ("Wren", slump, "ravi", "Weir bowl for the fair", FiringState.PLANNED, 20),
            ("Heron", tack, "oona", "Relief tiles, evening class", FiringState.PLANNED, 44),
            ("Wren", tack, "wilf", "Shoal tile", FiringState.CALLED_OFF, -30),
        )
        for kiln, schedule, who, title, state, hours in plans:
            person, moment = self.people[who], now + timedelta(hours=hours)
            if hours > 0:  # one plans for the morning
                moment = moment.replace(hour=9, minute=30, second=0)
            running, called_off = state == FiringState.FIRING, state == FiringState.CALLED_OFF
            firing = Firing.objects.create(
                title=title,
                kiln=self.kilns[kiln],
                revision=schedule.revisions.latest(),
                fired_by=person,
                written_by=person,
                state=state,
                planned_start=moment,
                started_at=moment if running else None,
                called_off_at=moment if called_off else None,
                called_off_reason="the blank cracked while it was being cleaned"
                if called_off
                else "",
                made_at=min(moment, now) - timedelta(hours=2),
            )
            demo = next(each for each in SCHEDULES if each.name == schedule.name)
            loaded = LoadedPiece.objects.create(
                firing=firing,
                piece=Piece.objects.create(title=demo.titles[0], maker=person),
                glass=self.glass[f"{demo.family}: {demo.colours[0]}"],
                layers=demo.layers,
                thickest_mm=demo.thickest_mm,
                thinnest_mm=demo.thinnest_mm,
                place=firing.kiln.places.get(is_reference=True),
                mould=demo.mould,
                wanted=demo.wanted,
                is_served=True,
            )
            loaded.other_glasses.set(self._other_glasses(demo))
            if running:
                self._looks(firing)
                send_so_far(firing, self.people["mads"], now)

    def _looks(self, firing: Firing) -> None:
        """What was read of the running kiln's display so far: a little behind, as it usually is."""
        assert firing.started_at  # noqa: S101 — it runs
        curve = keyed_curve(firing)
        for hours, behind in ((1.0, 2.0), (2.6, 5.0)):
            spot_reading_add(
                firing=firing,
                by=firing.fired_by,
                at=firing.started_at + timedelta(hours=hours),
                temperature_c=round(curve.at(hours * 3600) - behind),
            )
