"""How a file of a data logger was understood, for the page on which somebody looks at it."""

from dataclasses import dataclass, field

from django.db.models import QuerySet
from django.http import QueryDict

from firings.charts import preview_drawings
from firings.core_inputs import keyed_curve
from firings.forms.reading_choices import ReadingChoicesForm
from firings.models import Firing, RecordingFile
from firings.recording_inputs import preview_file, sheets_of_file
from firings.services.recording import RecordingError, RecordingPreview
from firings.wording import recording_says
from schedules.charts import SvgCurve
from studio.models import Person


@dataclass
class ImportPage:
    """The file as it reads, or why it can't be read; `elsewhere` is another firing that has it."""

    file: RecordingFile
    preview: RecordingPreview | None
    error: RecordingError | None
    sheets: tuple[str, ...]
    drawings: tuple[SvgCurve, ...]
    says: str
    elsewhere: Firing | None
    waiting: int
    form: ReadingChoicesForm = field(init=False)

    def __post_init__(self) -> None:
        self.form = self.choices_form()

    def choices_form(self, sent: QueryDict | None = None) -> ReadingChoicesForm:
        """What may be overruled of this file, as it stands or as somebody sent it."""
        return ReadingChoicesForm(
            sent,
            preview=self.preview,
            kept=self.file.choices,
            sheets=self.sheets,
            codes=self.codes,
        )

    @property
    def codes(self) -> set[str]:
        """Of what was guessed, or of what is wrong."""
        if self.preview is not None:
            # Where even the time of day is open, no day says when it was.
            return {
                remark.code
                for remark in self.preview.recording.remarks
                if remark.code != "no_date" or "seconds" in remark.figures
            }
        return set() if self.error is None else {self.error.code}

    @property
    def lasted_s(self) -> float | None:
        return None if self.preview is None else float(self.preview.recording.times[-1])


def import_page(file: RecordingFile, *, reader: Person) -> ImportPage:
    curve = keyed_curve(file.firing)
    preview, error = None, None
    try:
        preview = preview_file(file, curve)
    except RecordingError as unread:
        error = unread
    drawings: tuple[SvgCurve, ...] = ()
    says = ""
    if preview is not None:
        drawings = preview_drawings(file.firing, curve, preview.recording, reader.unit)
        says = recording_says(preview.recording, reader.unit)
    return ImportPage(
        file=file,
        preview=preview,
        error=error,
        sheets=sheets_of_file(file) if preview is None else preview.sheets,
        drawings=drawings,
        says=says,
        elsewhere=_elsewhere(file),
        waiting=waiting_files(file).count(),
    )


def waiting_files(file: RecordingFile) -> QuerySet[RecordingFile]:
    """The other files of the firing that nobody has taken."""
    return RecordingFile.objects.filter(firing=file.firing_id, taken_at=None).exclude(pk=file.pk)


def _elsewhere(file: RecordingFile) -> Firing | None:
    same = RecordingFile.objects.filter(digest=file.digest).exclude(firing=file.firing_id)
    found = same.select_related("firing__revision__schedule").first()
    return None if found is None else found.firing
