"""What was measured of a firing: a series of readings, or a few numbers that somebody noted."""

from collections.abc import Mapping, Sequence
from dataclasses import KW_ONLY, dataclass, field
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LONGEST_TEXT = 120
"""Characters of a line that are kept for a message."""


@dataclass(frozen=True)
class RecordingRemark:
    """What was assumed, dropped or guessed of a recording: a code and its figures.

    A figure is a number, or what stands in the file: the name of a column, a word.
    """

    code: str
    figures: Mapping[str, float | str] = field(default_factory=dict)


class RecordingError(ValueError):
    """A file that can't be read as a recording.

    Parameters
    ----------
    code : what is wrong
    line : of the file, from 1, where it was found; None where no one line is to blame
    text : what stands there, shortened
    figures : numbers that belong to the message, such as a limit

    Examples
    --------
    >>> str(RecordingError("time_not_understood", line=7, text="noon;803"))
    "time_not_understood, line 7: 'noon;803'"
    """

    def __init__(
        self,
        code: str,
        *,
        line: int | None = None,
        text: str = "",
        figures: Mapping[str, float | str] | None = None,
    ) -> None:
        self.code = code
        self.line = line
        self.text = text[:LONGEST_TEXT]
        self.figures: Mapping[str, float | str] = figures or {}
        where = "" if line is None else f", line {line}: {self.text!r}"
        super().__init__(f"{code}{where}")


def _nothing() -> Floats:
    return np.empty(0)


@dataclass(frozen=True, eq=False)
class Recording:
    """A recording in display temperatures of its kiln.

    Parameters
    ----------
    times : s from the start, shape (n,), never falling; empty where no series was taken
    temperatures : °C, shape (n,)
    started_at : the moment of the start, if known
    gaps : from and to, s, between which nothing is known
    remarks : see `RecordingRemark`
    peak : °C as noted, or None
    duration : s from the start to the end of the last segment as noted, or None
    hold : s at the top as noted, or None

    Raises
    ------
    ValueError
        For series of different lengths, time that runs backwards, a negative duration or hold, or
        a noted number that is not finite.

    Examples
    --------
    >>> Recording(peak=803.0, duration=32400.0).highest
    803.0
    >>> Recording([0.0, 3600.0], [20.0, 220.0]).highest
    220.0
    """

    times: Floats = field(default_factory=_nothing)
    temperatures: Floats = field(default_factory=_nothing)
    started_at: datetime | None = None
    gaps: Sequence[tuple[float, float]] = ()
    remarks: Sequence[RecordingRemark] = ()
    _: KW_ONLY
    peak: float | None = None
    duration: float | None = None
    hold: float | None = None

    def __post_init__(self) -> None:
        times = np.asarray(self.times, dtype=np.float64)
        temperatures = np.asarray(self.temperatures, dtype=np.float64)
        if times.ndim != 1 or times.shape != temperatures.shape:
            raise ValueError(
                f"times and temperatures must be two series of one length, "
                f"not {times.shape} and {temperatures.shape}"
            )
        if not np.all(np.isfinite(times)) or np.any(np.diff(times) < 0):
            raise ValueError("times must be finite and never fall")
        object.__setattr__(self, "times", times)
        object.__setattr__(self, "temperatures", temperatures)
        for name in ("peak", "duration", "hold"):
            noted = getattr(self, name)
            if noted is not None and not np.isfinite(noted):
                raise ValueError(f"a noted {name} must be a number, not {noted}")
        for name in ("duration", "hold"):
            if (getattr(self, name) or 0.0) < 0:
                raise ValueError(f"a {name} must be 0 s or more, not {getattr(self, name)}")

    @property
    def is_series(self) -> bool:
        """Whether there are readings at all.

        Examples
        --------
        >>> Recording([0.0, 30.0], [20.0, 21.0]).is_series, Recording(peak=803.0).is_series
        (True, False)
        """
        return self.times.size > 0

    def broken_at_gaps(self) -> tuple[Floats, Floats]:
        """Times and temperatures with a NaN in the middle of each gap, so that a line breaks there.

        Examples
        --------
        >>> Recording([0.0, 30.0, 3630.0], [700.0, 705.0, 480.0], gaps=[(30.0, 3630.0)]
        ...     ).broken_at_gaps()[1].tolist()
        [700.0, 705.0, nan, 480.0]
        """
        middles = np.array([(start + end) / 2 for start, end in self.gaps], dtype=np.float64)
        at = np.searchsorted(self.times, middles)
        return np.insert(self.times, at, middles), np.insert(self.temperatures, at, np.nan)

    @property
    def highest(self) -> float | None:
        """The highest temperature that was seen, °C: in the readings, or as noted, or None.

        Examples
        --------
        >>> Recording([0.0, 30.0], [20.0, 21.0], peak=803.0).highest
        803.0
        """
        known = self.temperatures[np.isfinite(self.temperatures)]
        seen = [float(known.max())] if known.size else []
        noted = [self.peak] if self.peak is not None else []
        return max([*seen, *noted], default=None)
