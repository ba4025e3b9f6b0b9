"""How a schedule's pieces came out at each place of a kiln's shelf, over all of its firings."""

from collections.abc import Hashable
from dataclasses import dataclass

from firings.queries.tuning_page import VERDICTS, Tuning
from firings.services.place_outcomes import PlacedVerdict, PlaceOutcome, place_outcomes
from studio.models import ShelfPlace
from studio.queries.places import ShelfDrawing, SpotMark, shelf_drawing

MARKS = {
    -2: SpotMark("−−", "short"),
    -1: SpotMark("−", "short"),
    0: SpotMark("=", "wanted"),
    1: SpotMark("+", "far"),
    2: SpotMark("++", "far"),
}


@dataclass(frozen=True)
class PlaceLine:
    """One place in words: how many came out how, and whether it stands out from the rest."""

    place: ShelfPlace
    outcome: PlaceOutcome

    @property
    def counts(self) -> list[tuple[int, str]]:
        return [(count, VERDICTS[verdict]) for verdict, count in self.outcome.counts.items()]

    @property
    def middle(self) -> str:
        return VERDICTS[self.outcome.middle]

    @property
    def sign(self) -> str:
        return MARKS[self.outcome.middle].sign

    @property
    def by(self) -> float:
        """Steps of verdict by which it lies apart, either way."""
        return abs(self.outcome.apart or 0.0)

    @property
    def is_cold(self) -> bool:
        return self.outcome.is_apart and (self.outcome.apart or 0.0) < 0

    @property
    def is_hot(self) -> bool:
        return self.outcome.is_apart and (self.outcome.apart or 0.0) > 0


@dataclass(frozen=True)
class TuningShelf:
    """`unplaced` counts the judged pieces of which nobody noted the place."""

    drawing: ShelfDrawing
    lines: tuple[PlaceLine, ...]
    unplaced: int

    @property
    def apart(self) -> list[PlaceLine]:
        return [line for line in self.lines if line.outcome.is_apart]


def tuning_shelf(tuning: Tuning) -> TuningShelf | None:
    """None where no piece out of this kiln was judged: two queries, for the places."""
    if tuning.kiln is None:
        return None
    judged, unplaced = _judged(tuning)
    if not judged and not unplaced:
        return None
    outcomes = place_outcomes(judged)
    places = list(tuning.kiln.places.all())
    lines = tuple(PlaceLine(each, outcomes[each.pk]) for each in places if each.pk in outcomes)
    says = "; ".join(f"{line.place.name}: {line.middle}" for line in lines)
    return TuningShelf(
        drawing=shelf_drawing(
            tuning.kiln,
            places,
            marks={line.place.pk: MARKS[line.outcome.middle] for line in lines},
            says=f"The shelf from above, its places by how pieces came out. {says}.",
        ),
        lines=lines,
        unplaced=unplaced,
    )


def _judged(tuning: Tuning) -> tuple[list[PlacedVerdict], int]:
    """The judged pieces of this kiln with a place, and how many have none."""
    judged: list[PlacedVerdict] = []
    unplaced = 0
    for firing in tuning.counted:
        if tuning.kiln is None or firing.kiln_id != tuning.kiln.pk:
            continue
        expected = _expected(tuning, firing.pk)
        for loaded in firing.load.all():
            if loaded.counted_verdict is None:
                continue
            if loaded.place_id is None:
                unplaced += 1
            else:
                judged.append(PlacedVerdict(loaded.place_id, loaded.counted_verdict, expected))
    return judged, unplaced


def _expected(tuning: Tuning, firing: Hashable) -> float | None:
    placed = tuning.placed.get(firing)
    return None if placed is None else placed.expected
