"""How kept forecasts did: one by one for a schedule, and all of them together."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Prefetch, QuerySet

from firings.models import AdviceAction, FiredAs, Firing, Forecast, ForecastScore, VerdictValue
from firings.queries.visible import open_load, visible_forecasts
from firings.services.calibration import LEAST, Calibration, calibrate, expected_counts
from schedules.models import Schedule
from studio.models import Person

LAST_FORECASTS = 5


@dataclass(frozen=True)
class VerdictCount:
    """How many firings were foretold to come out so, and how many did."""

    words: str
    foretold: float
    came: int


@dataclass(frozen=True)
class ForecastRecord:
    """What became of a number of notes.

    `given` counts all notes; `followed_by` those judged firings that began while one of them stood;
    `not_scored` says in words why some of these count for nothing, and how often.
    """

    given: int
    followed_by: int
    calibration: Calibration | None
    verdicts: tuple[VerdictCount, ...]
    not_scored: tuple[tuple[str, int], ...]
    least: int = LEAST

    @property
    def scored(self) -> int:
        return self.calibration.forecasts if self.calibration else 0

    @property
    def foretold(self) -> float:
        """How many of the scored ones the forecasts said would come as wanted."""
        return self.calibration.said * self.calibration.forecasts if self.calibration else 0.0


@dataclass(frozen=True)
class ScheduleForecasts:
    """The last forecasts of a schedule, the latest first, and how all of its forecasts did."""

    schedule: Schedule
    last: Sequence[Forecast]
    record: ForecastRecord


def forecasts_of(schedule: Schedule, reader: Person) -> QuerySet[Forecast]:
    """The ledgers of a schedule in all kilns, the latest first, with what was fired after each.

    What rests on firings that are kept from this reader is left out.
    """
    scores = ForecastScore.objects.select_related("firing__fired_by", "forecast").order_by(
        "firing__started_at", "pk"
    )
    return (
        visible_forecasts(reader)
        .filter(revision__schedule=schedule)
        .select_related("revision", "kiln", "firing")
        .prefetch_related(Prefetch("scores", scores))
    )


def schedule_forecasts(schedule: Schedule, reader: Person) -> ScheduleForecasts | None:
    """None where no note was given yet."""
    ledger = forecasts_of(schedule, reader)
    last = list(ledger[:LAST_FORECASTS])
    return ScheduleForecasts(schedule, last, forecast_record(ledger, reader)) if last else None


def forecast_record(forecasts: QuerySet[Forecast], reader: Person) -> ForecastRecord:
    """How these forecasts did, in two queries; firings that are kept from this reader don't count.

    The forecasts are of those that this reader may see.
    """
    scores = list(
        ForecastScore.objects.filter(
            open_load(reader, "firing__"), forecast__in=forecasts.order_by().values("pk")
        ).select_related("forecast")
    )
    scored = [(score, chance) for score in scores if (chance := score.chance) is not None]
    return ForecastRecord(
        given=forecasts.count(),
        followed_by=len(scores),
        calibration=calibrate(
            [chance for _, chance in scored], [score.came for score, _ in scored]
        ),
        verdicts=_verdict_counts([score for score, _ in scored if score.chances]),
        not_scored=_not_scored([score for score in scores if score.chance is None]),
    )


def score_of(firing: Firing, reader: Person) -> ForecastScore | None:
    """The forecast that stood at a firing's start, with what came of it.

    It comes with a firing of `firings_for_page`; None where it rests on what is kept from this
    reader.
    """
    score: ForecastScore | None = getattr(firing, "forecast_score", None)
    if score is None or not visible_forecasts(reader).filter(pk=score.forecast_id).exists():
        return None
    return score


def _verdict_counts(scores: Sequence[ForecastScore]) -> tuple[VerdictCount, ...]:
    """Of those whose five chances were kept; the outer verdicts stand at the ends."""
    came = Counter(score.verdict for score in scores)
    foretold = expected_counts([score.chances for score in scores])
    return tuple(
        VerdictCount(verdict.label, count, came[verdict.value])
        for verdict, count in zip(VerdictValue, foretold, strict=False)
    )


def _not_scored(scores: Sequence[ForecastScore]) -> tuple[tuple[str, int], ...]:
    looked_elsewhere = [
        score for score in scores if score.forecast.action == AdviceAction.LOOK_ELSEWHERE
    ]
    others = Counter(
        score.fired for score in scores if score.forecast.action != AdviceAction.LOOK_ELSEWHERE
    )
    counted = [("the note said to look elsewhere first", len(looked_elsewhere))]
    counted += [(WHY_NOT_SCORED[fired], others[fired]) for fired in WHY_NOT_SCORED]
    return tuple((words, count) for words, count in counted if count)


WHY_NOT_SCORED: dict[str, str] = {
    FiredAs.OTHERWISE: "something else was fired",
    FiredAs.MISSED: "the kiln missed its plan",
    FiredAs.BROKEN_OFF: "it was stopped early, or lost its power",
}
