"""What the next firing of a piece has to mind, now that it is as thick as it is."""

from dataclasses import dataclass
from functools import cached_property
from urllib.parse import urlencode

from firings.core_inputs import load_of
from firings.models import PieceStep
from firings.queries.piece_now import PieceOnRecord
from schedules.core_inputs import (
    MM_PER_M,
    core_segments,
    kiln_limits_of,
    load_for,
    written_segments,
)
from schedules.models import Revision, Schedule
from schedules.queries.remarks import RemarkList, mends_in, remark_list, silenced_on
from schedules.queries.revision_page import kilns_for
from schedules.services.case import Case
from schedules.services.checks import check_case
from schedules.services.heating_rules import first_heating, heating_limit
from studio.models import GlassFamily, Kiln

THICKER = 1.001
"""Times the schedule's thickest, from which a piece is thicker than it is written for."""


@dataclass(frozen=True)
class StepCheck:
    """A step's schedule, in the kiln that it is written for, held against the piece as it is now.

    `revision` is the schedule's newest, None where no schedule is chosen: then only the rate of
    practice is told.
    """

    case: Case
    kiln: Kiln
    unit: str
    revision: Revision | None
    family: GlassFamily

    @property
    def schedule(self) -> Schedule | None:
        return None if self.revision is None else self.revision.schedule

    @property
    def thickest_mm(self) -> float:
        return self.case.load.thickest * MM_PER_M

    @property
    def heating_c_per_h(self) -> float | None:
        """What practice gives a piece of this thickness, up to the strain point."""
        return heating_limit(self.case)

    @property
    def strain_point_c(self) -> float:
        return self.case.load.glass.strain_point

    @property
    def keyed_c_per_h(self) -> float | None:
        """The fastest that the schedule heats so far."""
        return max((rate for _, rate in first_heating(self.case)), default=None)

    @property
    def is_keyed_faster(self) -> bool:
        keyed, gentle = self.keyed_c_per_h, self.heating_c_per_h
        return keyed is not None and gentle is not None and keyed > gentle

    @property
    def is_thicker(self) -> bool:
        """Whether the schedule is written for thinner glass."""
        schedule = self.schedule
        return schedule is not None and self.thickest_mm > schedule.thickest_mm * THICKER

    @property
    def is_other_family(self) -> bool:
        schedule = self.schedule
        return schedule is not None and schedule.family_id not in (None, self.family.pk)

    @cached_property
    def remarks(self) -> RemarkList | None:
        revision = self.revision
        if revision is None:
            return None
        found = check_case(self.case)
        return remark_list(
            found,
            self.unit,
            silenced=silenced_on(revision.schedule),
            mends=mends_in(self.case, found, written_segments(revision), revision.unit),
        )

    @property
    def thickness_asked(self) -> str:
        """For an address that begins a schedule for this piece."""
        load = self.case.load
        thinnest, thickest = (round(each * MM_PER_M, 1) for each in (load.thinnest, load.thickest))
        return urlencode({"thinnest_mm": thinnest, "thickest_mm": thickest})

    @property
    def draft_asked(self) -> str:
        """For the address of the draft of a schedule for this piece."""
        load = self.case.load
        given = {
            "process": self.case.process,
            "kiln": self.kiln.pk,
            "family": self.family.pk,
            "layers": load.layers,
            "width_mm": round(load.width * MM_PER_M, 1) or "",
            "length_mm": round(load.length * MM_PER_M, 1) or "",
        }
        known = {name: value for name, value in given.items() if value != ""}
        return f"{urlencode(known)}&{self.thickness_asked}"


def step_check(step: PieceStep, record: PieceOnRecord, unit: str) -> StepCheck | None:
    """Of a step of a kiln, as far as the piece's thickness and its glass are known; else None. Its
    schedule's newest revision, in the kiln that this is written for or the first in service."""
    facts = record.facts
    if step.is_outside or not facts.get("thickest_mm"):
        return None
    revision = _newest(step.schedule)
    kilns = _kilns(revision)
    family = None if record.glass is None else record.glass.family
    if family is None and step.schedule is not None:
        family = step.schedule.family
    if not kilns or family is None:
        return None
    kinds = [kind for kind in [record.glass, *record.other_glasses] if kind is not None]
    usual = None if step.schedule is None else load_for(step.schedule)
    load = load_of(
        usual,
        kinds,
        thickest_mm=facts["thickest_mm"],
        thinnest_mm=facts["thinnest_mm"],
        layers=facts["layers"],
        width_mm=facts["width_mm"],
        length_mm=facts["length_mm"],
    )
    segments = () if revision is None else tuple(core_segments(revision))
    case = Case(segments, step.kind, load, kiln_limits_of(kilns[0]))
    return StepCheck(case=case, kiln=kilns[0], unit=unit, revision=revision, family=family)


def _newest(schedule: Schedule | None) -> Revision | None:
    if schedule is None:
        return None
    rows = schedule.revisions.select_related("schedule__family", "written_for__learnt_response")
    return rows.prefetch_related("segments").order_by("-number").first()


def _kilns(revision: Revision | None) -> list[Kiln]:
    if revision is not None:
        return kilns_for(revision)
    return list(Kiln.objects.filter(in_service=True)[:1])
