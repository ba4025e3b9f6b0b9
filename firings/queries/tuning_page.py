"""All that the firings of one schedule say of it, for one kiln: what its tuning page shows."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import cached_property

from django.http import Http404

from firings.advice_inputs import past_firings, situation_of, step_limits
from firings.core_inputs import schedule_glass
from firings.models import Firing, NoteTaken, VerdictValue
from firings.queries.tuning import (
    NextTimeNote,
    firings_of_schedule,
    newest_revision,
    note_from,
    note_taken_of,
)
from firings.queries.visible import kept_among
from firings.services.advice import Advice, advice_from, advise
from firings.services.evidence import PastFiring, Situation, StepLimits
from firings.services.gates import structural_gate
from firings.services.placing import PlacedFiring, placed_firings
from firings.services.surer import Surer, what_would_help
from firings.services.top import GlassTerms, Top
from firings.services.tuning_band import TuningBand, TuningPoint, band_of
from firings.services.weighing import History, weigh
from firings.services.what_if import WhatIf, foretold
from firings.tuning_charts import HeatWorkRow, TuningDrawing, heat_work_rows, tuning_drawings
from schedules.models import Revision, Schedule
from schedules.queries.revision_page import chosen_kiln
from studio.formats import temperature, temperature_difference
from studio.models import Kiln, Person, Studio

VERDICTS = {value.value: str(value.label) for value in VerdictValue}


@dataclass(frozen=True)
class Tuning:
    """One schedule in the kiln where it will be fired next, or in none where there is none.

    `firings` are all of its opened ones, in all kilns, first to last. Those in `kept` are listed
    and say nothing more to this `reader`: whatever counted them would tell how they came out.
    Nothing here asks the database but `taken`.
    """

    reader: Person
    newest: Revision
    kiln: Kiln | None
    kilns: Sequence[Kiln]
    firings: Sequence[Firing]
    studio: Studio
    kept: frozenset[int] = frozenset()

    @property
    def schedule(self) -> Schedule:
        return self.newest.schedule

    @cached_property
    def counted(self) -> list[Firing]:
        """Of which this reader may see the load."""
        return [firing for firing in self.firings if firing.pk not in self.kept]

    @cached_property
    def past(self) -> dict[Hashable, PastFiring]:
        """What each firing says, by its key; those that say nothing are left out."""
        past = past_firings(self.counted, schedule_glass(self.newest))
        return {one.firing: one for one in past}

    @cached_property
    def situation(self) -> Situation:
        assert self.kiln is not None  # noqa: S101  pages ask for a kiln first
        others = {firing.kiln_id: firing.kiln for firing in self.counted}
        return situation_of(self.newest, self.kiln, list(others.values()), firings=self.counted)

    @cached_property
    def limits(self) -> StepLimits:
        assert self.kiln is not None  # noqa: S101  as above
        return step_limits(self.studio, self.kiln, self.newest.unit)

    @cached_property
    def _terms(self) -> GlassTerms:
        return GlassTerms(self.situation)

    @property
    def top(self) -> Top:
        return self._terms.top

    @cached_property
    def history(self) -> History | None:
        """None where heat work says nothing of this schedule in this kiln."""
        if self.kiln is None:
            return None
        if structural_gate(self.situation, self.top, self.limits) is not None:
            return None
        return weigh(list(self.past.values()), self.situation)

    @cached_property
    def band(self) -> TuningBand | None:
        return None if self.history is None else band_of(self.history)

    @cached_property
    def points(self) -> dict[Hashable, TuningPoint]:
        return {} if self.band is None else {one.firing: one for one in self.band.points}

    @cached_property
    def placed(self) -> dict[Hashable, PlacedFiring]:
        return {} if self.history is None else placed_firings(self.history)

    @cached_property
    def surer(self) -> Surer | None:
        return None if self.history is None else what_would_help(self.history)

    @cached_property
    def waiting(self) -> list[Firing]:
        """Firings in this kiln that nobody judged."""
        names = () if self.surer is None else self.surer.waiting
        return [firing for firing in self.counted if firing.pk in names]

    @cached_property
    def kilns_unmeasured(self) -> list[Kiln]:
        names = () if self.surer is None else self.surer.kilns
        return [kiln for kiln in self.kilns if kiln.pk in names]

    @cached_property
    def note(self) -> NextTimeNote | None:
        if self.kiln is None:
            return None
        return note_from(self._advice, self.newest, self.kiln, self.counted)

    @property
    def _advice(self) -> Advice:
        if self.history is not None:
            return advice_from(self.history, self.limits)
        return advise(list(self.past.values()), self.situation, self.limits)

    @cached_property
    def last(self) -> Firing | None:
        """The latest firing in this kiln: a note is taken from its page."""
        here = [firing for firing in self.firings if firing.kiln_id == getattr(self.kiln, "pk", 0)]
        return here[-1] if here else None

    @cached_property
    def taken(self) -> NoteTaken | None:
        return None if self.last is None else note_taken_of(self.last, self.reader)

    @property
    def usual_steps(self) -> tuple[int, int]:
        """The note's own change, in steps of the controller and in minutes."""
        note, limits = self.note, self.limits
        if note is None:
            return 0, 0
        return (
            round(note.advice.peak_change / limits.peak_resolution),
            round(note.advice.hold_change / 60),
        )

    # What `firings/_note.html` asks of the page on which it stands.
    is_tuning = True
    revision_is_newest = True
    later = None

    def what_if(self, peak_change: float, hold_change: float) -> WhatIf | None:
        """Of changes in °C and s."""
        if self.history is None:
            return None
        return foretold(self.history, self.limits, [(peak_change, hold_change)])[0]

    def chances(self, changed: WhatIf | None) -> list[tuple[str, float, float]]:
        """Each verdict in words, with its chance as it stands and with that change."""
        now = self.what_if(0.0, 0.0)
        if now is None or changed is None:
            return []
        return list(zip(VERDICTS.values(), now.chances, changed.chances, strict=True))

    def drawings(self, unit: str) -> tuple[TuningDrawing, ...]:
        if self.band is None:
            return ()
        by_pk = {firing.pk: firing for firing in self.firings}

        def words_of(point: TuningPoint) -> str:
            firing = by_pk[int(str(point.firing))]
            told = f"{firing.title or firing}, {firing.kiln}, {temperature(point.peak, unit)}"
            return f"{told}: {VERDICTS[point.verdict]}"

        return tuning_drawings(self.band, unit, VERDICTS, words_of)

    def rows(self, unit: str) -> list[tuple[HeatWorkRow, list[tuple[int, str]]]]:
        """The drawing as a table: each row with how many came out how, in words."""
        rows = () if self.band is None else heat_work_rows(self.band, unit)
        return [
            (row, [(count, VERDICTS[verdict]) for verdict, count in row.verdicts]) for row in rows
        ]

    def says(self, unit: str) -> str:
        """The drawing in a sentence."""
        band = self.band
        if band is None:
            return ""
        wanted = temperature(band.wanted_peak, unit)
        doubt = temperature_difference(band.peak_doubt, unit).removeprefix("+")
        count = len(band.points)
        return (
            f"{count} judged firing{'' if count == 1 else 's'} against heat work. "
            f"Wanted: as much as at {wanted}, give or take {doubt}. "
            f"Now, revision {self.newest.number}: {temperature(band.own_peak, unit)}."
        )


def tuning_of(
    schedule: Schedule, *, studio: Studio, reader: Person, kiln_pk: str | None = None
) -> Tuning:
    """The kiln that is asked for, or else that of the latest firing, or one that it could be in.

    `Http404` for a schedule without a revision.
    """
    if not schedule.revisions.exists():
        raise Http404
    newest = newest_revision(schedule)
    firings = list(firings_of_schedule(schedule, None))
    fired = {firing.kiln_id: firing.kiln for firing in reversed(firings)}
    in_service = Kiln.objects.filter(in_service=True).select_related("learnt_response")
    rest = in_service.prefetch_related("service_entries").exclude(pk__in=fired)
    kilns = [*fired.values(), *rest]
    kept = kept_among(reader, firings)
    return Tuning(reader, newest, chosen_kiln(kilns, kiln_pk), kilns, firings, studio, kept)
