"""A recording as a few kilobytes: columns of differences, compressed.

Times are kept to the millisecond and temperatures to 0.001 °C, finer than any thermocouple tells;
what a logger wrote with up to three decimals in °C comes back exactly.
"""

import json
import zipfile
import zlib
from datetime import datetime
from io import BytesIO
from typing import Any

import numpy as np
from numpy.typing import NDArray

from firings.services.recording.series import Floats, Recording, RecordingRemark

FORM = 1
"""Of what `pack` writes; a later one reads the earlier ones too."""
PER_SECOND = 1_000.0
PER_DEGREE = 1_000.0
MOST_READINGS = 10_000_000
HIGHEST = 1e6
"""°C: beyond it is no temperature, and its thousandths would not fit."""


def pack(recording: Recording) -> bytes:
    """A recording as bytes.

    Parameters
    ----------
    recording : any; NaN among its temperatures stays NaN

    Raises
    ------
    ValueError
        For a temperature beyond a million °C.

    Examples
    --------
    >>> kept = pack(Recording([0.0, 30.0, 60.0], [20.0, 21.5, 23.1]))
    >>> unpack(kept).temperatures.tolist()
    [20.0, 21.5, 23.1]
    """
    unknown = ~np.isfinite(recording.temperatures)
    known = np.where(unknown, 0.0, recording.temperatures)
    if np.any(np.abs(known) > HIGHEST):
        raise ValueError(f"{np.abs(known).max():g} °C is no temperature")
    packed = BytesIO()
    np.savez_compressed(
        packed,
        allow_pickle=False,
        times=_steps(recording.times, PER_SECOND),
        temperatures=_steps(known, PER_DEGREE),
        unknown=np.flatnonzero(unknown),
        gaps=np.array(recording.gaps, dtype=np.float64).reshape(-1, 2),
        facts=np.frombuffer(_facts(recording), dtype=np.uint8),
    )
    return packed.getvalue()


def unpack(packed: bytes) -> Recording:
    """What `pack` made into bytes.

    Parameters
    ----------
    packed : B, of this form or an earlier one

    Raises
    ------
    ValueError
        For anything else.

    Examples
    --------
    >>> kept = pack(Recording([0.0, 30.0], [20.0, 21.5], gaps=[(0.0, 30.0)]))
    >>> unpack(kept).times.tolist(), unpack(kept).gaps
    ([0.0, 30.0], ((0.0, 30.0),))
    """
    try:
        with np.load(BytesIO(packed), allow_pickle=False) as columns:
            times = _values(columns["times"], PER_SECOND)
            temperatures = _values(columns["temperatures"], PER_DEGREE)
            temperatures[columns["unknown"]] = np.nan
            gaps = columns["gaps"]
            facts: dict[str, Any] = json.loads(columns["facts"].tobytes())
        if facts["form"] != FORM:
            raise ValueError(f"form {facts['form']} is not known")
        started_at = facts["started_at"]
        return Recording(
            times,
            temperatures,
            None if started_at is None else datetime.fromisoformat(started_at),
            gaps=tuple((float(start), float(end)) for start, end in gaps),
            remarks=tuple(RecordingRemark(code, figures) for code, figures in facts["remarks"]),
            peak=facts["peak"],
            duration=facts["duration"],
            hold=facts["hold"],
        )
    except (OSError, EOFError, KeyError, IndexError, TypeError, AttributeError) as error:
        raise ValueError("this is no packed recording") from error
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError) as error:
        raise ValueError("this is no packed recording") from error


def _facts(recording: Recording) -> bytes:
    started_at = recording.started_at
    facts = {
        "form": FORM,
        "started_at": None if started_at is None else started_at.isoformat(),
        "remarks": [[remark.code, dict(remark.figures)] for remark in recording.remarks],
        "peak": recording.peak,
        "duration": recording.duration,
        "hold": recording.hold,
    }
    return json.dumps(facts).encode()


def _steps(values: Floats, scale: float) -> NDArray[Any]:
    """Differences of whole numbers, the first from 0, in the smallest type that holds them."""
    steps = np.diff(np.round(values * scale).astype(np.int64), prepend=np.int64(0))
    for kind in (np.int8, np.int16, np.int32):
        limits = np.iinfo(kind)
        if not steps.size or (steps.min() >= limits.min and steps.max() <= limits.max):
            return steps.astype(kind)
    return steps


def _values(steps: NDArray[Any], scale: float) -> Floats:
    if steps.ndim != 1 or steps.dtype.kind != "i" or steps.size > MOST_READINGS:
        raise ValueError("this is no packed recording")
    return np.cumsum(steps, dtype=np.int64) / scale
