"""Recordings: what was measured of a firing, and how it is read from the files of data loggers."""

from firings.services.recording.series import Recording, RecordingError, RecordingRemark

__all__ = ["Recording", "RecordingError", "RecordingRemark"]
