"""How much hotter the glass is than a kiln's display says, from measurements, with its spread.

Source: our own. Means are weighted by Huber's function (P. J. Huber, Robust Statistics, 1981), and
where measurements differ by more than they ought to their spread grows with them (R. T. Birge, The
calculation of errors by the method of least squares, Physical Review 40 (1932) 207–227).
"""

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np
from numpy.typing import NDArray

from firings.services.measured import DEVIATIONS, Measured

Floats = NDArray[np.float64]

PROVEN_WITHIN = 40.0
"""°C of the display to both sides of a measurement; beyond, an offset is unproven. It comes from
where the thermocouple sits, and goes with the heat that is radiated there, by the cube of the
absolute temperature: over 40 °C near 800 °C by a ninth. An offset of 15 °C, the largest that is not
taken for a fault, then moves by 1.7 °C, about as much as a kiln repeats. A thermocouple's own
error, at most 0.75 % of the reading, moves by 0.3 °C."""
AWAY_DOUBT = 1.7 / PROVEN_WITHIN
"""Standard deviation, °C, for each °C between a measurement and where it is told."""
HUBER = 1.345
"""Standard deviations from which one counts less: 95 % as good as a mean where all are well."""
TURNS = 30


@dataclass(frozen=True)
class OffsetReading:
    """The offset by one measurement.

    Attributes
    ----------
    day : from any fixed day on
    display : °C
    value : glass less display at the reference place, °C
    doubt : standard deviation of its own, °C
    shared : of what measured it, °C
    instrument : names that
    """

    day: float
    display: float
    value: float
    doubt: float
    shared: float
    instrument: Hashable

    @property
    def spread(self) -> float:
        """± °C that holds 95 of 100, by itself."""
        return DEVIATIONS * hypot(self.doubt, self.shared)


@dataclass(frozen=True)
class MeasuredOffset:
    """An offset and how well it is known.

    Attributes
    ----------
    at : °C of the display for which it is told
    value : glass less display, °C
    spread : ± °C that holds 95 of 100
    low, high : °C of the display, between which it was measured
    measurements, instruments : how many are behind it
    last_day : of the latest of them
    """

    at: float
    value: float
    spread: float
    low: float
    high: float
    measurements: int
    instruments: int
    last_day: float

    @property
    def doubt(self) -> float:
        """Its standard deviation, °C."""
        return self.spread / DEVIATIONS

    def bears_out(self, offset: float, repeatability: float) -> bool:
        """Whether an offset on record is this one, but for what a kiln repeats to; °C both."""
        return abs(offset - self.value) <= repeatability


def offset_readings(
    measured: Sequence[Measured], reference: Hashable, repeatability: float
) -> list[OffsetReading]:
    """The offset by each measurement that tells of the display, in their order.

    Parameters
    ----------
    measured : in any order; left out is what has no reading at the reference place
    reference : names that place; readings of the place None count as taken there
    repeatability : °C, standard deviation of a like firing at the top, as of a `Situation`

    Examples
    --------
    >>> from firings.services.measured import by_thermometer
    >>> read = by_thermometer(0.0, 800.0, {"centre": 806.0, "front": 799.0}, 3.0, "probe")
    >>> [each.value for each in offset_readings([read], "centre", 1.5)]
    [6.0]
    """
    readings = []
    for each in measured:
        there = [one for one in each.seen if one.place is None or one.place == reference]
        if each.shared is None or not there:
            continue
        weights = [1.0 / one.doubt**2 for one in there]
        glass = sum(w * one.glass for w, one in zip(weights, there, strict=True)) / sum(weights)
        own = hypot(1.0 / sqrt(sum(weights)), repeatability)
        readings.append(
            OffsetReading(each.day, each.display, glass - each.display, own, each.shared,
                          each.instrument)
        )  # fmt: skip
    return readings


def offset_at(temperature: float, readings: Sequence[OffsetReading]) -> MeasuredOffset | None:
    """The offset at a temperature of the display, from the measurements near it.

    Parameters
    ----------
    temperature : °C of the display
    readings : of one kiln and one thermocouple

    Returns
    -------
    None where nothing was measured within `PROVEN_WITHIN`: it is unproven there.

    Examples
    --------
    >>> near = [OffsetReading(0.0, 800.0, 6.0, 1.8, 1.7, "probe")]
    >>> found = offset_at(804.0, near)
    >>> found.value, round(found.spread, 1), offset_at(482.0, near)
    (6.0, 5.0, None)
    """
    near = [each for each in readings if abs(each.display - temperature) <= PROVEN_WITHIN]
    if not near:
        return None
    groups: dict[Hashable, list[OffsetReading]] = defaultdict(list)
    for each in near:
        groups[each.instrument].append(each)
    means = []
    for group in groups.values():
        values = np.array([each.value for each in group])
        own = np.array(
            [hypot(each.doubt, AWAY_DOUBT * (each.display - temperature)) for each in group]
        )
        mean, doubt = robust_mean(values, own)
        # What one instrument is off by it is off by every time.
        means.append((mean, hypot(doubt, max(each.shared for each in group))))
    value, doubt = robust_mean(
        np.array([mean for mean, _ in means]), np.array([doubt for _, doubt in means])
    )
    return MeasuredOffset(
        at=temperature,
        value=value,
        spread=DEVIATIONS * doubt,
        low=min(each.display for each in near),
        high=max(each.display for each in near),
        measurements=len(near),
        instruments=len(groups),
        last_day=max(each.day for each in near),
    )


def offset_bands(readings: Sequence[OffsetReading]) -> list[MeasuredOffset]:
    """The offset in each band of temperature that was measured, from the coldest up.

    A band begins at its coldest measurement and holds all within `PROVEN_WITHIN` above it, so that
    each of them is proven for its middle.

    Examples
    --------
    >>> taken = [OffsetReading(0.0, at, 5.0, 1.8, 1.7, "probe") for at in (482.0, 800.0, 810.0)]
    >>> [(band.at, band.measurements) for band in offset_bands(taken)]
    [(482.0, 1), (805.0, 2)]
    """
    left = sorted(readings, key=lambda each: each.display)
    bands = []
    while left:
        top = left[0].display + PROVEN_WITHIN
        group = [each for each in left if each.display <= top]
        left = left[len(group) :]
        found = offset_at((group[0].display + group[-1].display) / 2.0, group)
        if found is not None:
            bands.append(found)
    return bands


def robust_mean(values: Floats, doubts: Floats) -> tuple[float, float]:
    """A weighted mean that no single wild value carries away, and its standard deviation.

    Parameters
    ----------
    values, doubts : of the same shape (n,), at least one; doubts are standard deviations, above 0

    Examples
    --------
    >>> mean, doubt = robust_mean(np.array([5.0, 6.0, 40.0]), np.array([1.0, 1.0, 1.0]))
    >>> mean < 9.0, doubt > 1.0
    (True, True)
    """
    weights = 1.0 / doubts**2
    mean = _weighted_median(values, weights)
    counted = weights
    for _ in range(TURNS):
        off = np.abs(values - mean) / doubts
        counted = weights * np.minimum(1.0, HUBER / np.maximum(off, HUBER))
        mean = float(counted @ values / counted.sum())
    scatter = 0.0
    if values.size > 1:
        scatter = float(counted @ (values - mean) ** 2 / (values.size - 1))
    return mean, sqrt(max(1.0, scatter) / float(counted.sum()))


def _weighted_median(values: Floats, weights: Floats) -> float:
    order = np.argsort(values, kind="stable")
    passed = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(passed, passed[-1] / 2.0)])
