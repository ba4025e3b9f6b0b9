"""A schedule with its load and its kiln, as the rules of a check see it, and what they may say."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from schedules.services.anneal_thickness import AnnealThickness, anneal_thickness
from schedules.services.annealing import FiringStress, stress_over
from schedules.services.curve import Curve, Segment, planned_curve
from studio.services.estimated_glass import EstimatedGlass
from studio.services.glass import Glass
from studio.services.kiln_response import REACH, KilnResponse

Floats = NDArray[np.float64]

Severity = Literal["block", "warn", "note"]

ROOM = 20.0
"""°C at which a firing starts where nothing is known of the kiln's room."""

ORDINARY_KILN = KilnResponse(1400.0, 7200.0, 12_000.0)
"""For what the glass is asked in a kiln of which nothing is known; invented, of a middling size."""
COOLED = 60.0
"""°C at which a load is lifted out; common practice, no source."""
_TAIL = 40
"""Samples of the free cooling after the last segment."""
_LEVEL = 1e-9
"""°C within which a stretch of the firing counts as held."""


@dataclass(frozen=True)
class Load:
    """What lies in the kiln.

    Parameters
    ----------
    glass : see `Glass`
    family : name of the family whose expansion it fits
    thickest, thinnest : m, of the pieces as laid up
    layers : how many sheets lie on each other
    width, length : m, of the widest piece; 0 where they are not known
    families : names of all families in one piece, where they are known
    anneal_soak : °C, from the glass maker's sheet, or None
    chemistries : what each glass of one piece carries that reacts, of `glass_match.CARRIED`; empty
        where nothing is known
    strikers : how many of its glasses show their colour only once they were heated
    is_fit_test : whether it is fired to see if glasses of several families fit each other
    mould : what a piece lies on or in: "shelf", "ceramic", "steel", "plaster_silica" or "fibre";
        "" where that is not known
    estimate : of which `glass` is the glass, with what was assumed of it; None where nothing is
        said of that. No rule looks at it: it is for whoever shows what a check found.
    """

    glass: Glass = field(default_factory=Glass)
    family: str = ""
    thickest: float = 0.006
    thinnest: float = 0.006
    layers: int = 2
    width: float = 0.2
    length: float = 0.2
    families: tuple[str, ...] = field(default=(), kw_only=True)
    anneal_soak: float | None = field(default=None, kw_only=True)
    chemistries: tuple[frozenset[str], ...] = field(default=(), kw_only=True)
    strikers: int = field(default=0, kw_only=True)
    is_fit_test: bool = field(default=False, kw_only=True)
    mould: str = field(default="", kw_only=True)
    estimate: EstimatedGlass | None = field(default=None, kw_only=True)


@dataclass(frozen=True)
class KilnLimits:
    """What a kiln and its controller can do.

    Parameters
    ----------
    max_temperature : °C on the display that the kiln must not pass
    segments : how many the controller takes; None where that is not known
    resolution : °C, the controller's smallest step
    chamber : m, inside width, depth and height, or None
    response : how fast the kiln follows; None where that is not known
    offset : °C, glass minus display
    unit : "C" or "F", that the controller shows
    longest_hold : s, the longest hold that the controller takes; None where that is not known
    """

    max_temperature: float
    segments: int | None = None
    resolution: float = 1.0
    chamber: tuple[float, float, float] | None = None
    response: KilnResponse | None = None
    offset: float = 0.0
    unit: str = field(default="C", kw_only=True)
    longest_hold: float | None = field(default=None, kw_only=True)


@dataclass(frozen=True, slots=True)
class Remedy:
    """What would mend a remark: an act, and the value that it would take, if one can be named."""

    act: str
    value: float | None = None


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing that speaks against a schedule.

    Parameters
    ----------
    code : which rule
    severity : "block" where it must not be fired so, "warn", or "note"
    segment : index from 0, or None for the schedule as a whole
    figure : what was found, in the unit of its kind: °C, °C/h, s, m, MPa, a share or a count
    limit : what it was measured against, in the same unit, or None
    remedy : see `Remedy`, or None
    thickness_mm, other_thickness_mm : for which `limit` was worked out, and what the other rule of
        the trade would make of the piece (see `anneal_thickness`); None where neither counts
    """

    code: str
    severity: Severity
    segment: int | None = None
    figure: float | None = None
    limit: float | None = None
    remedy: Remedy | None = None
    thickness_mm: float | None = field(default=None, kw_only=True)
    other_thickness_mm: float | None = field(default=None, kw_only=True)


@dataclass(frozen=True)
class Case:
    """All that a rule may look at. Temperatures of the glass are the display's plus the offset.

    `opening` is the display's temperature at which the kiln is to be opened, °C.
    """

    segments: tuple[Segment, ...]
    process: str
    load: Load
    kiln: KilnLimits
    opening: float = COOLED

    @cached_property
    def start(self) -> float:
        """°C at which the kiln starts."""
        return ROOM if self.kiln.response is None else self.kiln.response.ambient

    @cached_property
    def is_glass(self) -> bool:
        """Whether what is fired is glass at all: metal clay goes by its maker's sheet."""
        return self.process != "metal_clay"

    @cached_property
    def targets(self) -> tuple[float, ...]:
        """Of the segments, in the glass, °C."""
        return tuple(segment.target + self.kiln.offset for segment in self.segments)

    @cached_property
    def top(self) -> int:
        """Index of the segment that first comes to the highest target."""
        return max(range(len(self.targets)), key=self.targets.__getitem__)

    @cached_property
    def faces(self) -> int:
        """From how many faces the glass is heated and cooled: one on a shelf, to be cautious; a
        bead on its mandrel or in fibre takes heat all round."""
        return 2 if self.process == "bead_anneal" else 1

    @cached_property
    def thickness(self) -> AnnealThickness:
        """For what thickness the load is annealed."""
        thinnest, thickest = sorted((self.load.thinnest, self.load.thickest))
        return anneal_thickness(
            thickest, thinnest, self.process, share_of_chamber=self.share_of_chamber
        )

    @cached_property
    def share_of_chamber(self) -> float:
        """Of the shelf's way that the widest piece takes; 0 where either is not known."""
        if self.kiln.chamber is None:
            return 0.0
        width, depth, _ = self.kiln.chamber
        piece, shelf = sorted((self.load.width, self.load.length)), sorted((width, depth))
        return max(own / room for own, room in zip(piece, shelf, strict=True))

    @cached_property
    def curve(self) -> Curve | None:
        """What the kiln makes of the schedule, an ordinary one where its response is not known;
        None where a target is not reached, or a number is none."""
        if not self.segments:
            return None
        try:
            curve = planned_curve(self.segments, self.kiln.response or ORDINARY_KILN)
        except ValueError:
            return None  # numbers that are remarked on for themselves
        return None if curve.duration is None else curve

    @cached_property
    def firing(self) -> tuple[Floats, Floats] | None:
        """Times in s and temperatures in the glass, °C, through free cooling to `COOLED` where it
        is known how the kiln cools."""
        curve = self.curve
        if curve is None:
            return None
        times = curve.times
        cooled = curve.cool_to(max(COOLED, curve.response.ambient + 2 * REACH))
        if self.kiln.response is not None and cooled is not None and cooled > times[-1]:
            times = np.append(times, np.linspace(times[-1], cooled, _TAIL + 1)[1:])
        celsius: Floats = curve.at(times) + self.kiln.offset
        return times, celsius

    @cached_property
    def stress(self) -> FiringStress | None:
        """Of a slab as thick as `thickness` says, over the firing; None where it can't be known."""
        if self.firing is None or not self.is_glass:
            return None
        times, celsius = self.firing
        return stress_over(times, celsius, self.thickness.by_factor, self.load.glass, self.faces)

    def time_between(self, low: float, high: float, *, rising: bool = False) -> float:
        """s of the firing in which the glass is between two temperatures, °C; with `rising` only
        on the way to the top. 0 where the curve can't be known."""
        if self.firing is None:
            return 0.0
        times, celsius = self.firing
        if rising:
            last = int(np.argmax(celsius)) + 1
            times, celsius = times[:last], celsius[:last]
        first, second = celsius[:-1], celsius[1:]
        lower, upper = np.minimum(first, second), np.maximum(first, second)
        level = upper - lower < _LEVEL
        inside = np.clip(np.minimum(upper, high) - np.maximum(lower, low), 0.0, None)
        share = np.where(level, (low <= lower) & (lower <= high), 0.0)
        np.divide(inside, upper - lower, out=share, where=~level)
        return float(np.dot(np.diff(times), share))
