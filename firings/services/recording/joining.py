"""Several files of one firing as one recording."""

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from firings.services.recording.gaps import gaps_of
from firings.services.recording.series import Recording, RecordingRemark


def join_recordings(parts: Sequence[Recording]) -> Recording:
    """One series of several, one after the other or overlapping.

    Where all parts say when they started, that is where they go; of readings at one and the same
    moment the earlier part's counts. Otherwise they follow in the given order, each a usual step
    after the one before, with a gap between, since nobody knows how long nothing was recorded.

    Parameters
    ----------
    parts : at least one; one without readings adds only its noted peak

    Returns
    -------
    Recording, with a remark "parts_joined", and "parts_overlap" (s) or "parts_in_given_order". Its
    noted peak is the highest of the parts'; a duration or hold noted of a part is not the whole's.

    Raises
    ------
    ValueError
        Without any part.

    Examples
    --------
    >>> early = Recording([0.0, 60.0], [20.0, 25.0], datetime(2026, 3, 12, 18, 0))
    >>> late = Recording([0.0, 60.0], [30.0, 35.0], datetime(2026, 3, 12, 18, 2))
    >>> join_recordings([late, early]).times.tolist()
    [0.0, 60.0, 120.0, 180.0]
    """
    if not parts:
        raise ValueError("there is nothing to join")
    if len(parts) == 1:
        return parts[0]
    series = [part for part in parts if part.is_series]
    remarks = [remark for part in parts for remark in part.remarks]
    remarks.append(RecordingRemark("parts_joined", {"count": float(len(parts))}))
    peak = max((part.peak for part in parts if part.peak is not None), default=None)
    started = [part.started_at for part in series if part.started_at is not None]
    if len(started) == len(series) and len({moment.tzinfo is None for moment in started}) < 2:
        series.sort(key=_start)
        offsets = [(_start(part) - _start(series[0])).total_seconds() for part in series]
        overlap = _overlap(series, offsets)
        if overlap > 0:
            remarks.append(RecordingRemark("parts_overlap", {"seconds": overlap}))
        unknown: list[tuple[float, float]] = []
    else:
        offsets, unknown = _one_after_the_other(series)
        remarks.append(RecordingRemark("parts_in_given_order"))
    return _merged(series, offsets, unknown, remarks, peak)


def _start(part: Recording) -> datetime:
    if part.started_at is None:
        raise ValueError("this part does not say when it started")
    return part.started_at


def _overlap(series: Sequence[Recording], offsets: Sequence[float]) -> float:
    """How long two parts were recorded at once, s."""
    overlap, end = 0.0, -np.inf
    for part, offset in zip(series, offsets, strict=True):
        overlap += max(min(end, offset + float(part.times[-1])) - offset, 0.0)
        end = max(end, offset + float(part.times[-1]))
    return overlap


def _one_after_the_other(
    series: Sequence[Recording],
) -> tuple[list[float], list[tuple[float, float]]]:
    """Where each part begins, and the unknown stretches between them."""
    offsets: list[float] = []
    unknown: list[tuple[float, float]] = []
    end = 0.0
    for part in series:
        begin = end
        if offsets:
            steps = np.diff(part.times)
            begin = end + (float(np.median(steps)) if steps.size else 1.0)
            unknown.append((end, begin))
        offsets.append(begin - float(part.times[0]))
        end = begin + float(part.times[-1] - part.times[0])
    return offsets, unknown


def _merged(
    series: Sequence[Recording],
    offsets: Sequence[float],
    unknown: Sequence[tuple[float, float]],
    remarks: Sequence[RecordingRemark],
    peak: float | None,
) -> Recording:
    if not series:
        return Recording(remarks=tuple(remarks), peak=peak)
    pairs = list(zip(series, offsets, strict=True))
    times = np.concatenate([part.times + offset for part, offset in pairs])
    temperatures = np.concatenate([part.temperatures for part in series])
    order = np.argsort(times, kind="stable")
    times, temperatures = times[order], temperatures[order]
    new = np.diff(times, prepend=-np.inf) > 0
    times, temperatures = times[new], temperatures[new]
    gaps = {(start + offset, end + offset) for part, offset in pairs for start, end in part.gaps}
    gaps.update(gaps_of(times), unknown)
    empty = [gap for gap in gaps if not np.any((times > gap[0]) & (times < gap[1]))]
    return Recording(
        times,
        temperatures,
        series[0].started_at,
        gaps=tuple(sorted(empty)),
        remarks=tuple(remarks),
        peak=peak,
    )
