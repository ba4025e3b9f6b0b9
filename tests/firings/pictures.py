"""Picture files, as a phone would send them."""

import io

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image


def picture_file(
    name: str = "shelf.jpg", colour: str = "teal", kind: str = "JPEG", side: int = 64
) -> SimpleUploadedFile:
    file = io.BytesIO()
    Image.new("RGB", (side, side), colour).save(file, kind)
    return SimpleUploadedFile(name, file.getvalue(), f"image/{kind.lower()}")
