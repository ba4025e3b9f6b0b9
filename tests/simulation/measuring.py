"""Kilns of which offset and shelf are known, and people who measure and judge in them.

Nothing here knows how the project weighs what it is told: the offset follows from a thermocouple's
own error and from where it sits, glass from its place, a verdict from what the judge sees. All
numbers are invented.
"""

from collections.abc import Hashable
from dataclasses import dataclass
from math import hypot, log

import numpy as np

from firings.services.evenness import Evenness, PlaceTemperature, PlaceVerdict, evenness
from firings.services.kiln_offset import MeasuredOffset, offset_at, offset_readings
from firings.services.measured import Measured, by_strips, by_thermometer, by_tiles, per_degree
from firings.services.strips import LEAST_SAG_MM, Strip
from studio.services.glass import Glass, fluidity

GLASS = Glass(493.0, 532.0, 677.0)
REFERENCE = "centre"
PLACES = (
    "back left", "back", "back right", "left", REFERENCE, "right",
    "front left", "front", "front right",
)  # fmt: skip
REPEATS, NOTED = 1.5, 1.5
"""°C, standard deviations: of like firings, and of what the logbook has of a peak."""
WILD = 0.05
"""Of all readings somebody misreads the display or the thermometer, by up to 20 °C."""
HELD_AT_LEAST, FOUND_AT_LEAST, WRONG_AT_MOST = 0.95, 0.9, 0.05
"""Shares of kilns: the offset within its spread, the coldest place named, and another one named."""
PLACES_AT_LEAST = 0.93
"""Share of places within their spread, of which 95 of 100 are promised: those of one kiln share its
reference, so that a hundred kilns scatter by two hundredths."""
STRIP = Strip(3.0, 60.0)
HOLD, STRIPS_AT = 900.0, 605.0
"""s and °C of the display: such strips then sag some 3 mm."""


@dataclass(frozen=True)
class TrueKiln:
    """What nobody in the studio knows.

    Attributes
    ----------
    share : of the reading, by which its thermocouple is off
    seat : °C between glass and thermocouple at 804 °C, where it sits
    places : °C by place, beside the reference
    judge_slope, judge_noise : of its judge
    """

    share: float
    seat: float
    places: dict[str, float]
    judge_slope: float
    judge_noise: float

    def offset(self, display: float) -> float:
        return self.share * display + self.seat * ((display + 273.15) / 1077.15) ** 3

    @property
    def coldest(self) -> str:
        return min(self.places, key=lambda place: self.places[place])


def true_kiln(rng: np.random.Generator) -> TrueKiln:
    """One whose coldest place lies 5 °C or more below the next; that may be the reference."""
    places = {place: float(rng.normal(0.0, 3.0)) for place in PLACES}
    cold = str(rng.choice(PLACES))
    places[cold] = min(each for place, each in places.items() if place != cold)
    places[cold] -= float(rng.uniform(5.0, 9.0))
    centre = places[REFERENCE]
    return TrueKiln(
        share=float(rng.uniform(-0.006, 0.006)),
        seat=float(rng.normal(0.0, 5.0)),
        places={place: each - centre for place, each in places.items()},
        judge_slope=float(4.0 * np.exp(rng.normal(0.0, 0.25))),
        judge_noise=float(rng.uniform(0.2, 0.45)),
    )


def seen_word(sees: float) -> int:
    return int(np.clip(np.rint(sees), -2, 2))


def measured_in(kiln: TrueKiln, rng: np.random.Generator, around: float) -> list[Measured]:
    """Two to five measurements by one or two means, each within 15 °C of `around`."""
    tolerance = float(rng.choice([1.5, 3.0, 5.0]))
    error = float(rng.uniform(-tolerance, tolerance))
    tile_tolerance, tiles_error = 5.0, float(rng.uniform(-5.0, 5.0))
    found = []
    for number in range(int(rng.integers(2, 6))):
        display = float(round(around + rng.uniform(-15.0, 15.0)))
        glass = display + kiln.offset(display) + float(rng.normal(0.0, REPEATS))
        wild = float(rng.uniform(-20.0, 20.0)) if rng.random() < WILD else 0.0
        if around < 600.0 or rng.random() < 0.6:  # no tile changes its look near the anneal
            shown = glass + error + wild + float(rng.normal(0.0, 0.8))
            found.append(
                by_thermometer(float(number), display, {None: shown}, tolerance, "thermometer")
            )
        else:
            # Tiles of a firing that was to bring them to what they are meant to look like.
            needs = display + kiln.offset(display) + float(rng.normal(0.0, 4.0))
            degree = kiln.judge_slope * per_degree(display, GLASS)
            sees = degree * (glass + wild - needs) + float(rng.normal(0.0, kiln.judge_noise))
            found.append(
                by_tiles(
                    float(number), display, {None: seen_word(sees)}, GLASS, "tiles",
                    wanted_at=needs + tiles_error, tolerance=tile_tolerance,
                )
            )  # fmt: skip
    return found


def strips_in(kiln: TrueKiln, rng: np.random.Generator, display: float = STRIPS_AT) -> Measured:
    """A strip at each place of one firing that was held there, where it tells anything."""
    glass = display + kiln.offset(display) + float(rng.normal(0.0, REPEATS))
    sags = {}
    for place, away in kiln.places.items():
        work = fluidity(glass + away, GLASS) * HOLD * float(np.exp(rng.normal(0.0, 0.04)))
        sag = round(2.0 * work / STRIP.heat_work(3.0) * 3.0) / 2.0
        if LEAST_SAG_MM <= sag <= STRIP.deepest:  # what hangs deeper is left out, as the form asks
            sags[place] = sag
    by_display = fluidity(display, GLASS) * HOLD
    return by_strips(0.0, display, sags, STRIP, GLASS, "strips", heat_work=by_display)


def fired_in(kiln: TrueKiln, rng: np.random.Generator, firings: int = 40) -> list[PlaceVerdict]:
    """Ordinary firings of four schedules, one to five pieces in each, more in the middle."""
    degree = per_degree(804.0, GLASS)
    doubt = hypot(NOTED, REPEATS) * degree
    work_at_top = log(fluidity(804.0, GLASS) * 900.0)
    needs = rng.normal(0.0, 6.0, 4)
    liked = np.array([2.0 if place == REFERENCE else 1.0 for place in PLACES])
    judged = []
    for firing in range(firings):
        schedule = int(rng.integers(0, 4))
        above = float(rng.normal(needs[schedule], 5.0))  # still being tuned
        really = above + float(rng.normal(0.0, REPEATS))
        noted = work_at_top + degree * (above + float(rng.normal(0.0, NOTED)))
        count = int(rng.integers(1, 6))
        for place in rng.choice(PLACES, size=count, replace=False, p=liked / liked.sum()):
            away = really + kiln.places[str(place)] - needs[schedule]
            sees = kiln.judge_slope * degree * away + float(rng.normal(0.0, kiln.judge_noise))
            verdict = int(rng.integers(-2, 3)) if rng.random() < 0.02 else seen_word(sees)
            judged.append(PlaceVerdict(firing, schedule, str(place), verdict, noted, doubt, degree))
    return judged


def temperatures_of(measured: list[Measured]) -> list[PlaceTemperature]:
    return [
        PlaceTemperature(number, _placed(one.place), one.glass, one.doubt)
        for number, each in enumerate(measured)
        for one in each.seen
    ]


def _placed(place: Hashable) -> Hashable:
    return REFERENCE if place is None else place


@dataclass(frozen=True)
class Score:
    """Over some kilns, each a share.

    Attributes
    ----------
    held : the true offset lay within the stated spread
    half_width : mean of that spread, °C
    strips_held : the same by a firing of strips alone
    found : the coldest place was named from ordinary firings, and rightly
    wrong : another one was named
    places_held : a place's true difference lay within its spread, from ordinary firings
    with_strips : the coldest place named rightly from ordinary firings and one of strips
    """

    kilns: int
    held: float
    half_width: float
    strips_held: float
    found: float
    wrong: float
    places_held: float
    with_strips: float


def score(kilns: int, seed: int) -> Score:
    rng = np.random.default_rng(seed)
    held, widths, strips_held, found, wrong, places, both = [], [], [], [], [], [], []
    for _ in range(kilns):
        kiln = true_kiln(rng)
        around = float(rng.choice([482.0, 677.0, 760.0, 804.0]))
        at = around + float(rng.uniform(-20.0, 20.0))
        offset = offset_at(at, offset_readings(measured_in(kiln, rng, around), REFERENCE, REPEATS))
        if offset is None:
            raise AssertionError("what was measured near there is told")
        held.append(_within(offset, kiln.offset(at)))
        widths.append(offset.spread)
        strips = strips_in(kiln, rng)
        by_strip = offset_at(STRIPS_AT, offset_readings([strips], REFERENCE, REPEATS))
        if by_strip is not None:
            strips_held.append(_within(by_strip, kiln.offset(STRIPS_AT)))
        judged = fired_in(kiln, rng)
        shelf = _shelf([], judged)
        named = shelf.coldest
        found.append(named is not None and named.place == kiln.coldest)
        wrong.append(named is not None and named.place != kiln.coldest)
        places += [
            abs(each.difference - kiln.places[str(each.place)]) <= each.spread
            for each in shelf.places
            if each.place != REFERENCE
        ]
        more = _shelf(temperatures_of([strips]), judged).coldest
        both.append(more is not None and more.place == kiln.coldest)
    means = (
        float(np.mean(each)) for each in (held, widths, strips_held, found, wrong, places, both)
    )
    return Score(kilns, *means)


def _within(offset: MeasuredOffset, truth: float) -> bool:
    return abs(offset.value - truth) <= offset.spread


def _shelf(temperatures: list[PlaceTemperature], judged: list[PlaceVerdict]) -> Evenness:
    shelf = evenness(temperatures, judged, REFERENCE)
    if shelf is None:
        raise AssertionError("a shelf of nine places is told")
    return shelf
