"""A revision in another kiln: what the two kilns' records say, and what it becomes there."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

from django.template.loader import render_to_string
from django.utils import timezone

from firings.advice_inputs import past_firings, service_epoch, situation_of, step_limits
from firings.core_inputs import schedule_glass
from firings.models import Firing
from firings.queries.kiln_sides import KilnFigure, KilnSide, MeasuredNear, measured_sides
from firings.queries.tuning import firings_of_schedule
from firings.services.advice import Advice, advise
from firings.services.evidence import PastFiring
from firings.services.kiln_difference import (
    OffsetDifference,
    difference_by_repeats,
)
from firings.services.process_rules import NO_VISCOUS_GLASS, TOP_IS_THE_ANNEAL
from schedules.core_inputs import (
    core_segments,
    curve_of,
    kiln_limits_of,
    load_for,
    written_segments,
)
from schedules.models import Revision
from schedules.queries.planned import Planned, planned_in
from schedules.queries.remarks import RemarkList, remark_list, silenced_on
from schedules.services.translated import Part, Ramp, Translation
from schedules.services.translating import translate
from schedules.services.writing import Rounding, WrittenSegment
from schedules.wording import LONGEST_REASON
from studio.formats import plain
from studio.models import Kiln, Person, Studio


@dataclass(frozen=True)
class MovedSegment:
    """A line of the table: where the segment comes from, what it becomes, and why."""

    position: int
    before: list[tuple[int, WrittenSegment]]
    now: WrittenSegment
    part: Part
    moved: float
    hold_minutes_more: Decimal
    roundings: tuple[Rounding, ...]
    ramp: Ramp | None


@dataclass(frozen=True)
class ToKiln:
    """A revision moved to another kiln; temperatures in °C, times in s.

    `recorded` is the kilns' difference by their records, `repeats` by what both have fired of this
    schedule, where they have.
    """

    revision: Revision
    source: KilnSide
    target: KilnSide
    recorded: OffsetDifference
    repeats: OffsetDifference | None
    translation: Translation
    planned: Planned
    advice: Advice
    remarks: RemarkList
    soak_evidence: str
    peak_before: float
    peak_tolerances: tuple[float | None, float | None]
    measured_top: MeasuredNear
    measured_soak: MeasuredNear | None

    @property
    def difference(self) -> OffsetDifference:
        """By which the top is moved."""
        return self.repeats or self.recorded

    @property
    def is_proven(self) -> bool:
        return self.repeats is not None or (self.source.is_proven and self.target.is_proven)

    @property
    def figures(self) -> list[tuple[KilnFigure, KilnFigure]]:
        return list(zip(self.source.figures, self.target.figures, strict=True))

    @property
    def unit(self) -> str:
        return self.translation.unit

    @property
    def is_refused(self) -> bool:
        return any(remark.severity == "block" for remark in self.planned.found)

    @property
    def peak_now(self) -> float:
        return max(segment.target for segment in self.translation.core)

    @property
    def has_soak(self) -> bool:
        return any(each.part == "soak" for each in self.translation.segments)

    @property
    def top_moves(self) -> bool:
        """Whether it has a top that is no anneal."""
        return any(each.part == "top" for each in self.translation.segments)

    @property
    def hold_before(self) -> float:
        return self.hold_now - self.translation.hold_change

    @property
    def hold_now(self) -> float:
        return max(self.translation.core, key=lambda one: (one.target, one.hold)).hold

    @property
    def too_slow(self) -> list[Ramp]:
        """Ramps that go otherwise in the other kiln."""
        return [ramp for ramp in self.translation.ramps if ramp.is_told]

    @property
    def seen(self) -> str:
        """What is to be kept, as a form carries it back."""
        return "; ".join(_keyed(one) for one in self.translation.written)

    @cached_property
    def rows(self) -> list[MovedSegment]:
        """The table, in the order of the new segments."""
        source = written_segments(self.revision)
        ramps = {ramp.segment: ramp for ramp in self.too_slow}
        core, before = self.translation.core, self.translation.before.segments
        longest = max(range(len(core)), key=lambda each: (core[each].target, core[each].hold))
        more = Decimal(round(self.translation.hold_change / 60))
        return [
            MovedSegment(
                position=index + 1,
                before=[(own + 1, source[own]) for own in each.made_of],
                now=each.written,
                part=each.part,
                moved=core[index].target - before[each.made_of[-1]].target,
                hold_minutes_more=more if index == longest else Decimal(0),
                roundings=each.roundings,
                ramp=ramps.get(index),
            )
            for index, each in enumerate(self.translation.segments)
        ]

    @property
    def reason(self) -> str:
        """In the unit of the other controller, as the revision keeps it."""
        words = render_to_string("firings/to_kiln_reason.txt", {"moved": self, "unit": self.unit})
        return " ".join(plain(words).split())[:LONGEST_REASON]


def _keyed(one: WrittenSegment) -> str:
    rate = "full power" if one.rate is None else f"{one.rate.normalize():f}"
    return f"{rate} {one.target.normalize():f} {int(one.hold_minutes)}"


def usual_source(revision: Revision) -> Kiln | None:
    """The kiln that a revision was written for, or else the last one that fired its schedule."""
    if revision.written_for is not None:
        return revision.written_for
    fired = Firing.objects.filter(revision__schedule=revision.schedule, started_at__isnull=False)
    last = fired.select_related("kiln").order_by("-started_at").first()
    return None if last is None else last.kiln


def to_kiln(
    revision: Revision,
    studio: Studio,
    *,
    reader: Person,
    from_kiln: Kiln,
    to_kiln: Kiln,
    soak_difference: float | None = None,
    soak_evidence: str = "",
    way: int = 0,
    keep_hold: bool = False,
) -> ToKiln:
    """What a revision becomes in another kiln, by all that is on record now for this reader.

    `soak_difference`: °C by which the other kiln runs hotter near the anneal, where that is known.
    """
    schedule = revision.schedule
    source, target = KilnSide(from_kiln), KilnSide(to_kiln)
    measured = measured_sides(from_kiln, to_kiln)
    measured_top = measured.near(max(each.target for each in core_segments(revision)))
    recorded = measured_top.on_record(from_kiln, to_kiln)
    firings = list(firings_of_schedule(schedule, reader))
    past = past_firings(firings, schedule_glass(revision))
    repeats = _by_repeats(revision, past, from_kiln, to_kiln, recorded)
    difference = repeats or recorded
    load, limits = load_for(schedule), kiln_limits_of(from_kiln)
    translation = translate(
        written_segments(revision),
        revision.unit,
        schedule.process,
        load,
        limits,
        replace(kiln_limits_of(to_kiln), offset=limits.offset + difference.value),
        soak_shift=None if soak_difference is None else -soak_difference,
        fit_hold=not keep_hold,
        way=way,
    )
    planned = planned_in(
        kiln=to_kiln,
        segments=translation.core,
        unit=translation.unit,
        process=schedule.process,
        load=load,
        family=schedule.family,
    )
    peak, soak = translation.before.peak, _soak_of(translation)
    return ToKiln(
        revision=revision,
        source=source,
        target=target,
        recorded=recorded,
        repeats=repeats,
        translation=translation,
        planned=replace(planned, earlier=translation.before),
        advice=_forecast(revision, studio, to_kiln, firings, past, translation),
        remarks=remark_list(planned.found, translation.unit, silenced=silenced_on(schedule)),
        soak_evidence=soak_evidence,
        peak_before=max(segment.target for segment in translation.before.segments),
        peak_tolerances=(source.tolerance_at(peak), target.tolerance_at(peak)),
        measured_top=measured_top,
        measured_soak=None if soak is None else measured.near(soak),
    )


def _soak_of(translation: Translation) -> float | None:
    """°C of the anneal soak as it is written; None without one."""
    own = [each.made_of[-1] for each in translation.segments if each.part == "soak"]
    return translation.before.segments[own[-1]].target if own else None


def _by_repeats(
    revision: Revision,
    past: Sequence[PastFiring],
    from_kiln: Kiln,
    to_kiln: Kiln,
    recorded: OffsetDifference,
) -> OffsetDifference | None:
    process = revision.schedule.process
    if process in TOP_IS_THE_ANNEAL | NO_VISCOUS_GLASS:
        return None
    if curve_of(revision, from_kiln).unreached is not None:
        return None
    situation = replace(
        situation_of(revision, from_kiln), offsets={to_kiln.pk: to_kiln.known_offset_c}
    )
    epoch = service_epoch(to_kiln, timezone.localdate())
    return difference_by_repeats(past, situation, to_kiln.pk, epoch, recorded)


def _forecast(
    revision: Revision,
    studio: Studio,
    kiln: Kiln,
    firings: Sequence[Firing],
    past: Sequence[PastFiring],
    translation: Translation,
) -> Advice:
    """The note on the schedule as it would be, of which only the chance now is read."""
    kilns = {firing.kiln_id: firing.kiln for firing in firings}
    situation = replace(
        situation_of(revision, kiln, others=list(kilns.values())), segments=translation.core
    )
    return advise(past, situation, step_limits(studio, kiln, translation.unit))
