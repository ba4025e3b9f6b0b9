"""Two test series of the demo studio: one finished, one under way. All of it is invented."""

import io
from datetime import datetime, timedelta
from decimal import Decimal

from firings.actions.ladder import ladder_close, ladder_make, ladder_plan, rung_judge
from firings.demo.rendering import Look, render
from firings.models import Firing, FiringState, Ladder, LoadedPiece, Piece, Rung, Varies
from firings.queries.ladder_plan import LadderPlan, suggested
from firings.queries.tuning import newest_revision
from firings.queries.tuning_page import tuning_of
from firings.services.top import find_top
from schedules.core_inputs import core_segments, curve_of
from schedules.models import Revision, Schedule
from studio.models import Kiln, Person, Studio
from studio.pictures import prepare_picture

CAME_OUT = (-1, 0, 0, 1)
"""Of the finished series, from the lowest rung up."""
QUIET = timedelta(days=7)


def ladders_make(people: dict[str, Person], kilns: dict[str, Kiln], now: datetime) -> None:
    wren, oona, inka = kilns["Wren"], people["oona"], people["inka"]
    found = _make("Tack fuse, relief tiles", wren, oona, "tack ladder", Varies.PEAK, 4)
    starts_at = _quiet_start(wren, now)
    for rung in found.rungs.select_related("revision"):
        _fire(found, rung, starts_at + timedelta(days=rung.number - 1))
    for rung, verdict in zip(found.rungs.select_related("loaded"), CAME_OUT, strict=True):
        assert rung.loaded is not None  # noqa: S101  fired above
        look = Look("square", "turquoise", ("white",), heat=verdict * 0.75, relief=True, seed=4)
        rung_judge(
            loaded=rung.loaded,
            by=oona,
            verdict=verdict,
            thickness_after_mm=None,
            pictures=[prepare_picture(io.BytesIO(render(look)))],
            at=starts_at + timedelta(days=5),
        )
    ladder_close(ladder=found)
    _as_of(found, starts_at - timedelta(hours=3), starts_at + timedelta(days=5))
    waits = _make("Contour fuse, bars on a sheet", wren, inka, "bars by the hold", Varies.HOLD, 3)
    morning = now.replace(hour=9, minute=0, second=0, microsecond=0)
    ladder_plan(ladder=waits, by=inka, starts_at=morning + timedelta(days=9), daily=True)


def _make(name: str, kiln: Kiln, by: Person, called: str, varies: str, count: int) -> Ladder:
    schedule = Schedule.objects.get(name=name)
    newest = newest_revision(schedule)
    studio, top = Studio.current(), find_top(core_segments(newest))
    plan = LadderPlan(varies, Decimal(round(top.peak) - 12), Decimal(7), count)
    if varies == Varies.HOLD:
        tuning = tuning_of(schedule, studio=studio, reader=by, kiln_pk=str(kiln.pk))
        plan = suggested(tuning, varies, count) or plan
    return ladder_make(
        schedule=schedule,
        kiln=kiln,
        by=by,
        studio=studio,
        plan=plan,
        name=called,
        reason="How much the new batch wants, tile by tile.",
        thickest_mm=schedule.thickest_mm,
        place=kiln.places.get(is_reference=True),
        newest_seen=newest.number,
    )


def _as_of(ladder: Ladder, made_at: datetime, closed_at: datetime) -> None:
    """Made and closed then, with its revisions."""
    Ladder.objects.filter(pk=ladder.pk).update(made_at=made_at, closed_at=closed_at)
    after = ladder.begun_from.number
    Revision.objects.filter(schedule=ladder.schedule, number__gt=after).update(made_at=made_at)


def _quiet_start(kiln: Kiln, now: datetime) -> datetime:
    """The latest morning after which nothing was fired in the kiln for a week."""
    start = now.replace(hour=8, minute=0, second=0, microsecond=0) - timedelta(days=8)
    near = timedelta(days=2)
    while Firing.objects.filter(
        kiln=kiln, started_at__gt=start - near, started_at__lt=start + QUIET
    ).exists():
        start -= timedelta(days=1)
    return start


def _fire(ladder: Ladder, rung: Rung, starts_at: datetime) -> None:
    curve = curve_of(rung.revision, ladder.kiln)
    firing = Firing.objects.create(
        title=f"{ladder.name}, rung {rung.number}",
        kiln=ladder.kiln,
        revision=rung.revision,
        fired_by=ladder.made_by,
        written_by=ladder.made_by,
        state=FiringState.OPENED,
        made_at=starts_at - timedelta(hours=1),
        planned_start=starts_at,
        started_at=starts_at,
        opened_at=starts_at + timedelta(seconds=curve.cool_to(45.0) or 80_000),
        opened_by=ladder.made_by,
        recorded_peak_c=round(curve.peak),
        recorded_hold_s=int(find_top(core_segments(rung.revision)).hold),
        recorded_duration_s=int(curve.duration or 0),
    )
    rung.loaded = LoadedPiece.objects.create(
        firing=firing,
        piece=Piece.objects.create(
            title=f"{ladder.name} {rung.number}", maker=ladder.made_by, made_at=starts_at
        ),
        layers=2,
        thickest_mm=ladder.thickest_mm,
        thinnest_mm=ladder.thickest_mm,
        place=ladder.place,
        wanted="relief that stands, with its edges rounded",
        is_served=True,
    )
    rung.save(update_fields=["loaded"])
