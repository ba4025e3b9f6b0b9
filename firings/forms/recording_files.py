"""Files of data loggers, as they are sent: several at once, kept whatever they turn out to hold."""

from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

MOST_AT_ONCE = 10
MEGABYTE = 1024 * 1024


class RecordingFilesInput(forms.ClearableFileInput):
    allow_multiple_selected = True
    template_name = "django/forms/widgets/file.html"

    def __init__(self) -> None:
        super().__init__(attrs={"accept": ".csv,.tsv,.txt,.log,.dat,.xlsx,text/*"})


class RecordingFilesField(forms.FileField):
    """Cleans to a list of files, none of them empty or larger than the limit."""

    widget = RecordingFilesInput

    def clean(self, data: Any, initial: Any = None) -> list[UploadedFile]:
        files: list[UploadedFile] = [file for file in (data or ()) if file is not None]
        if not files:
            raise ValidationError(self.error_messages["required"], code="required")
        if len(files) > MOST_AT_ONCE:
            raise ValidationError(f"At most {MOST_AT_ONCE} at once.", code="too_many")
        refused = [words for words in map(self._refusal, files) if words]
        if refused:
            raise ValidationError(refused)
        return files

    def _refusal(self, file: UploadedFile) -> ValidationError | None:
        size = file.size or 0
        if not size:
            return ValidationError("“%(name)s” is empty.", params={"name": file.name}, code="empty")
        if size > settings.RECORDING_LIMIT_MB * MEGABYTE:
            return ValidationError(
                "“%(name)s” has %(size).0f MB; at most %(limit)s, please.",
                params={
                    "name": file.name,
                    "size": size / MEGABYTE,
                    "limit": f"{settings.RECORDING_LIMIT_MB} MB",
                },
                code="too_large",
            )
        return None


class RecordingFilesForm(forms.Form):
    recordings = RecordingFilesField(label="Files of the data logger")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["recordings"].help_text = (
            f"CSV, text or XLSX, {settings.RECORDING_LIMIT_MB} MB each at the most. "
            "A firing’s several files are joined. Each is kept as it comes."
        )
