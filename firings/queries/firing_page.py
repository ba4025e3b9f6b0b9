"""A firing with what was planned of it, what was recorded, and what to do next."""

from dataclasses import dataclass
from functools import cached_property

from django.utils import timezone

from firings.models import BroughtFiring, Firing, FiringState, ForecastScore, LoadedPiece, NoteTaken
from firings.queries.annealed import AnnealedFiring, annealed_firing
from firings.queries.brought import brought_of
from firings.queries.clearing import FiringClearing, clearing_of
from firings.queries.conversation import Conversation, conversation_of
from firings.queries.energy import FiringEnergy, firing_energy
from firings.queries.forecasts import score_of
from firings.queries.load import LoadCheck, load_check
from firings.queries.recorded import Recorded, recorded_firing
from firings.queries.side_by_side import firing_before
from firings.queries.start import StartChecks, start_checks_of
from firings.queries.tuning import NextTimeNote, next_time_note, note_taken_of
from firings.queries.visible import is_kept_from
from firings.queries.watching import firing_now
from firings.services.comparison import Comparison
from firings.services.recording import Recording
from firings.services.top import Top, find_top
from firings.wording import chart_says
from schedules.charts import SvgCurve
from schedules.queries.opening import Opening, opening_of
from schedules.services.curve import Curve
from studio import access
from studio.models import Person, Studio


@dataclass(frozen=True)
class Held:
    """Planned held against recorded; °C, s, and heat work as a share of the planned."""

    curve: Curve
    top: Top
    recording: Recording
    comparison: Comparison

    @property
    def recorded_peak(self) -> float | None:
        return _sum(self.curve.peak, self.comparison.peak_difference)

    @property
    def recorded_hold(self) -> float | None:
        return _sum(self.top.hold, self.comparison.hold_difference)

    @property
    def recorded_duration(self) -> float | None:
        found = _sum(self.curve.duration, self.comparison.duration_difference)
        return self.recording.duration if found is None else found

    @property
    def heat_work_difference(self) -> float | None:
        ratio = self.comparison.heat_work_ratio
        return None if ratio is None else ratio - 1.0


def _sum(planned: float | None, difference: float | None) -> float | None:
    return None if planned is None or difference is None else planned + difference


@dataclass(frozen=True)
class FiringPage:
    firing: Firing
    held: Held
    recorded: Recorded
    annealed: AnnealedFiring | None
    drawings: tuple[SvgCurve, ...]
    says: str
    opening: Opening | None
    load_check: LoadCheck
    to_judge: LoadedPiece | None
    note: NextTimeNote | None
    taken: NoteTaken | None
    score: ForecastScore | None
    later: Firing | None
    before: Firing | None
    clearing: FiringClearing
    conversation: Conversation | None
    is_kept: bool

    @cached_property
    def energy(self) -> FiringEnergy | None:
        return firing_energy(self.firing, self.held.curve, self.held.recording)

    @property
    def start_checks(self) -> StartChecks:
        return start_checks_of(self.firing)

    @property
    def brought(self) -> BroughtFiring | None:
        """Where it was never logged here: the line of a list with which it came."""
        return brought_of(self.firing)

    @property
    def is_recorded(self) -> bool:
        """Whether anything of its course is known."""
        firing = self.firing
        noted = (firing.recorded_peak_c, firing.recorded_hold_s, firing.recorded_duration_s)
        return self.recorded.is_series or any(value is not None for value in noted)

    @property
    def is_held(self) -> bool:
        """Whether the page holds something against the plan, or has only the plan to show."""
        return self.is_recorded or self.firing.state == FiringState.OPENED

    @property
    def has_moments(self) -> bool:
        return any(drawing.moments for drawing in self.drawings)

    @property
    def revision_is_newest(self) -> bool:
        return self.note is None or self.note.newest.pk == self.firing.revision_id


def firing_page(pk: int, *, reader: Person, studio: Studio) -> FiringPage:
    seen = recorded_firing(pk, reader)
    firing, curve = seen.firing, seen.curve
    is_kept = is_kept_from(reader, firing)
    schedule, opened = firing.revision.schedule, firing.state == FiringState.OPENED
    recorded, chart = seen.recorded, seen.chart(reader.unit)
    taken = note_taken_of(firing, reader) if opened else None
    note = (
        None
        if taken or not opened
        else next_time_note(schedule, firing.kiln, studio, reader=reader)
    )
    return FiringPage(
        firing=firing,
        held=Held(curve, find_top(curve.segments), seen.recording, seen.comparison),
        recorded=recorded,
        annealed=annealed_firing(
            firing, seen.recording, seen.comparison, chart, recorded.starts_at
        ),
        drawings=chart.drawings,
        says=chart_says(curve, seen.recording, reader.unit),
        opening=_opening(firing, curve),
        load_check=load_check(firing, reader.unit),
        to_judge=_to_judge(firing, reader) if opened else None,
        note=note,
        taken=taken,
        score=score_of(firing, reader) if opened and not is_kept else None,
        later=None if note is None else _later(firing, note),
        before=firing_before(firing),
        clearing=clearing_of(firing),
        conversation=conversation_of(firing, reader),
        is_kept=is_kept,
    )


def _opening(firing: Firing, curve: Curve) -> Opening | None:
    """While it fires, as its readings so far move it; before, by the plan."""
    if firing.state == FiringState.FIRING:
        return firing_now(firing, timezone.now()).opening
    if firing.state == FiringState.OPENED:
        return None
    return opening_of(curve, firing.planned_start)


def _to_judge(firing: Firing, reader: Person) -> LoadedPiece | None:
    """The first piece without a verdict that this reader may judge."""
    return next(
        (
            loaded
            for loaded in firing.load.all()
            if loaded.verdict is None and access.may(reader, "piece.judge", loaded)
        ),
        None,
    )


def _later(firing: Firing, note: NextTimeNote) -> Firing | None:
    """The latest of the note's firings in this kiln, where it isn't this one."""
    here = [each for each in note.firings.values() if each.kiln_id == firing.kiln_id]
    return here[-1] if here and here[-1].pk != firing.pk else None
