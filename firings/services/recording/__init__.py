"""Recordings: what was measured of a firing, and how it is read from the files of data loggers.

From the bottom up: `source` and `workbook` turn a file into lines and `table` into cells; `cells`
groups cells by shape, `numbers` and `moments` understand each shape once; `layout` finds out what
stands where; `dates`, `elapsed`, `times` and `clock` make seconds of the cells, `channels` and
`temperatures` make °C. `reading` puts them together, `preview` shows the beginning, and `joining`
makes one recording of several. `packing` stores one in few bytes.
"""

from firings.services.recording.choices import ReadingChoices
from firings.services.recording.joining import join_recordings
from firings.services.recording.preview import PreviewRow, RecordingPreview, preview_recording
from firings.services.recording.reading import read_recording, sheets_of
from firings.services.recording.series import Recording, RecordingError, RecordingRemark

__all__ = [
    "PreviewRow",
    "ReadingChoices",
    "Recording",
    "RecordingError",
    "RecordingPreview",
    "RecordingRemark",
    "join_recordings",
    "preview_recording",
    "read_recording",
    "sheets_of",
]
