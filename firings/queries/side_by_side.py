"""Two to six firings beside each other: their courses, their figures, how they came out."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q

from firings.aligned_charts import AlignedDrawing, top_drawings, whole_drawings
from firings.core_inputs import schedule_glass
from firings.models import Firing, FiringState
from firings.queries.figure_rows import FigureRow, figure_rows
from firings.queries.logbook import LogbookRow, firings_for_logbook, logbook_rows
from firings.queries.one_side import Side, side_of
from firings.queries.record import firings_for_page
from firings.queries.visible import as_seen_by
from schedules.queries.planned import annealing_band
from studio import formats
from studio.models import Kiln, Person

FEWEST, MOST = 2, 6
OTHERS = 8
"""Firings that are offered beside those chosen."""


@dataclass(frozen=True)
class SideBySide:
    """All of them, in the order in which they were fired; number 1 is what others differ from."""

    sides: tuple[Side, ...]
    rows: tuple[FigureRow, ...]
    drawings: tuple[AlignedDrawing, ...]
    top: tuple[AlignedDrawing, ...]
    says: str
    top_says: str
    weighed_by: Side | None

    @property
    def differing(self) -> list[FigureRow]:
        return [row for row in self.rows if not row.is_same and not row.is_unknown]

    @property
    def same(self) -> list[FigureRow]:
        return [row for row in self.rows if row.is_same]

    @property
    def unknown(self) -> list[FigureRow]:
        return [row for row in self.rows if row.is_unknown]

    @property
    def kilns_differ(self) -> bool:
        return len({side.firing.kiln_id for side in self.sides}) > 1

    @property
    def kilns(self) -> list[Kiln]:
        return list({side.firing.kiln_id: side.firing.kiln for side in self.sides}.values())

    @property
    def has_photographs(self) -> bool:
        return any(side.photographs for side in self.sides)

    @property
    def has_dots(self) -> bool:
        return any(course.readings for drawing in self.drawings for course in drawing.courses)

    @property
    def glasses_differ(self) -> bool:
        return len({schedule_glass(side.firing.revision) for side in self.sides}) > 1

    @property
    def query(self) -> str:
        return "&".join(f"firing={side.firing.pk}" for side in self.sides)


@dataclass(frozen=True)
class Ticked:
    """The firings that are ticked in a list: all their numbers, and those on other pages of it."""

    numbers: Sequence[int]
    elsewhere: Sequence[Firing]


def ticked_of(numbers: Sequence[int], shown: Sequence[int]) -> Ticked:
    """What was ticked, and goes on being so on a page that shows the firings `shown`."""
    elsewhere = [number for number in numbers if number not in shown]
    return Ticked(numbers, list(Firing.objects.filter(pk__in=elsewhere)) if elsewhere else [])


def side_by_side(pks: Sequence[int], *, aligned: str, reader: Person) -> SideBySide:
    """The firings of these numbers, which exist; temperatures as texts in the reader's unit."""
    unit = reader.unit
    found = firings_for_page(reader).select_related("series").filter(pk__in=pks)
    in_order = sorted((as_seen_by(reader, each) for each in found), key=_moment)
    sides = tuple(
        side_of(number, firing, reader) for number, firing in enumerate(in_order, start=1)
    )
    weighed_by = next((side for side in sides if side.heat_work), None)
    courses = [side.course(aligned) for side in sides]
    family = sides[0].firing.revision.schedule.family
    is_one_family = len({side.firing.revision.schedule.family_id for side in sides}) == 1
    return SideBySide(
        sides=sides,
        rows=tuple(figure_rows(sides, unit, weighed_by)),
        drawings=whole_drawings(
            courses, unit=unit, bands=annealing_band(family) if is_one_family else ()
        ),
        top=top_drawings(courses, [side.highest for side in sides], unit=unit),
        says=curves_say(sides, aligned, unit),
        top_says=tops_say(sides, unit),
        weighed_by=weighed_by,
    )


def _moment(firing: Firing) -> tuple[object, int]:
    return (firing.started_at or firing.planned_start or firing.made_at, firing.pk)


def curves_say(sides: Sequence[Side], aligned: str, unit: str) -> str:
    """The sentence that says what the curves show."""
    moment = "when the top was reached" if aligned == "top" else "their start"
    told = [
        f"{side.number}: {'recorded' if side.is_recorded else 'planned'}, "
        f"up to {formats.temperature(side.highest, unit)}"
        for side in sides
    ]
    return f"{len(sides)} firings laid upon each other from {moment}. {'; '.join(told)}."


def tops_say(sides: Sequence[Side], unit: str) -> str:
    told = [f"{side.number}: {formats.temperature(side.highest, unit)}" for side in sides]
    return f"About the top. {'; '.join(told)}."


def firings_to_choose(
    chosen: Sequence[int], reader: Person
) -> tuple[list[LogbookRow], list[LogbookRow]]:
    """Those chosen, and the latest others of their schedules, or of all where none is chosen."""
    listed = firings_for_logbook(reader)
    asked = sorted(listed.filter(pk__in=chosen), key=_moment) if chosen else []
    rows = logbook_rows(asked, reader)
    same = Q(revision__schedule__in={row.firing.revision.schedule_id for row in rows})
    others = listed.exclude(pk__in=chosen).exclude(state=FiringState.CALLED_OFF)
    return rows, logbook_rows((others.filter(same) if rows else others)[:OTHERS], reader)


def firing_before(firing: Firing) -> Firing | None:
    """The last opened firing of the same schedule before this one, in whichever kiln."""
    if firing.state == FiringState.CALLED_OFF:
        return None
    earlier = Firing.objects.filter(
        revision__schedule=firing.revision.schedule_id, state=FiringState.OPENED
    ).exclude(pk=firing.pk)
    if firing.started_at is not None:
        earlier = earlier.filter(started_at__lte=firing.started_at)
    return earlier.order_by("-started_at", "-pk").first()
