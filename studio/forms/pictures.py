"""Photographs as they come from a phone: several at once, checked and made ready to keep."""

from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from studio.pictures import LARGEST_PIXELS, PictureError, PreparedPicture, prepare_picture

MOST_AT_ONCE = 20
MEGABYTE = 1024 * 1024
WHY = {
    "unreadable": "is no picture that can be read. JPEG, PNG, WebP and HEIC can.",
    "too_many_pixels": f"has more than {LARGEST_PIXELS // 10**6} million pixels; "
    "make it smaller first.",
}


class PicturesInput(forms.ClearableFileInput):
    """One button that offers a phone's camera and its album, and takes several pictures."""

    allow_multiple_selected = True
    template_name = "django/forms/widgets/file.html"

    def __init__(self, *, several: bool = True) -> None:
        super().__init__(attrs={"accept": "image/*,.heic,.heif", "multiple": several})


class PicturesField(forms.FileField):
    """Cleans to a list of `PreparedPicture`, empty when none was sent; `most` at once."""

    widget = PicturesInput

    def __init__(self, *, most: int = MOST_AT_ONCE, **kwargs: Any) -> None:
        self.most = most
        each, they = (" each", "they were") if most > 1 else ("", "it was")
        kwargs.setdefault("widget", PicturesInput(several=most > 1))
        kwargs.setdefault(
            "help_text",
            f"JPEG, PNG, WebP or HEIC, {settings.PHOTOGRAPH_LIMIT_MB} MB{each} at the most. "
            f"Where and when {they} taken is not kept.",
        )
        super().__init__(**kwargs)

    def clean(self, data: Any, initial: Any = None) -> list[PreparedPicture]:
        files: list[UploadedFile] = [file for file in (data or ()) if file]
        if not files:
            if self.required:
                raise ValidationError(self.error_messages["required"], code="required")
            return []
        if len(files) > self.most:
            raise ValidationError(f"At most {self.most} at once.", code="too_many")
        refused: list[ValidationError] = []
        pictures: list[PreparedPicture] = []
        for file in files:
            try:
                pictures.append(self._prepared(file))
            except ValidationError as error:
                refused.append(error)
        if refused:
            raise ValidationError(refused)
        return pictures

    def _prepared(self, file: UploadedFile) -> PreparedPicture:
        size = file.size or 0
        if size > settings.PHOTOGRAPH_LIMIT_MB * MEGABYTE:
            raise ValidationError(
                "“%(name)s” has %(size).0f MB; at most %(limit)s, please.",
                params={
                    "name": file.name,
                    "size": size / MEGABYTE,
                    "limit": f"{settings.PHOTOGRAPH_LIMIT_MB} MB",
                },
                code="too_large",
            )
        try:
            return prepare_picture(file)  # type: ignore[arg-type]
        except PictureError as error:
            raise ValidationError(
                "“%(name)s” %(why)s",
                params={"name": file.name, "why": WHY[error.reason]},
                code=error.reason,
            ) from error


class HoldsPictures(forms.BaseForm):
    """Mixin for a form with `photographs` beside other fields."""

    def ask_for_pictures_again(self) -> None:
        """A form that comes back has lost its files: browsers never fill them in again."""
        if self.files and not self.has_error("photographs"):
            self.add_error("photographs", "Choose them once more: browsers forget files.")
