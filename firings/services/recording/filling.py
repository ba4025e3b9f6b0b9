"""A recording, with readings of another where it has none."""

from dataclasses import replace

import numpy as np

from firings.services.recording.gaps import gaps_of
from firings.services.recording.series import Recording, RecordingRemark


def filled_from(recording: Recording, other: Recording) -> Recording:
    """The readings of a recording, and before, after and in its gaps those of another.

    Two thermocouples never quite agree: where both have readings the first alone counts, so that
    the line does not jump between them.

    Parameters
    ----------
    recording, other : series that say when they started

    Returns
    -------
    Recording, with a remark "sent_readings_added" (count), or "sent_readings_left_out" (count)
    where either does not say when it started, or only one of them in what zone.

    Examples
    --------
    >>> from datetime import datetime
    >>> first = Recording([0.0, 60.0], [20.0, 25.0], datetime(2026, 3, 12, 18, 0))
    >>> other = Recording([0.0, 60.0, 120.0], [26.0, 31.0, 36.0], datetime(2026, 3, 12, 18, 1))
    >>> filled_from(first, other).temperatures.tolist()
    [20.0, 25.0, 31.0, 36.0]
    """
    if not recording.is_series or not other.is_series:
        return recording if recording.is_series else other
    begins, other_begins = recording.started_at, other.started_at
    if (
        begins is None
        or other_begins is None
        or (begins.tzinfo is None) != (other_begins.tzinfo is None)
    ):
        left = RecordingRemark("sent_readings_left_out", {"count": float(other.times.size)})
        return replace(recording, remarks=(*recording.remarks, left))
    moments = other.times + (other_begins - begins).total_seconds()
    wanted = (moments < recording.times[0]) | (moments > recording.times[-1])
    for start, end in recording.gaps:
        wanted |= (moments > start) & (moments < end)
    if not wanted.any():
        return recording
    times = np.concatenate([recording.times, moments[wanted]])
    temperatures = np.concatenate([recording.temperatures, other.temperatures[wanted]])
    order = np.argsort(times, kind="stable")
    times, temperatures = times[order], temperatures[order]
    gaps = {*map(tuple, recording.gaps), *gaps_of(times)}
    empty = [gap for gap in gaps if not np.any((times > gap[0]) & (times < gap[1]))]
    first = min(begins, other_begins) if moments[wanted][0] < 0 else begins
    later = (begins - first).total_seconds()
    added = RecordingRemark("sent_readings_added", {"count": float(wanted.sum())})
    return replace(
        recording,
        times=times + later,
        temperatures=temperatures,
        started_at=first,
        gaps=tuple((start + later, end + later) for start, end in sorted(empty)),
        remarks=(*recording.remarks, added),
    )
