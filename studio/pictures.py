"""Makes a photograph fit to keep: upright, in plain colours, without anything written into it.

A phone writes the place, the time and its own serial number into a picture. Nothing of that stays:
the pixels are drawn afresh and saved as JPEG, once large and once small.
"""

import hashlib
import io
import struct
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import BinaryIO, Literal

import pillow_heif
from PIL import Image, ImageCms, ImageOps

from studio.services.picture_box import Box

pillow_heif.register_heif_opener()

FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
LARGEST_SIDE = 3000
SMALL_SIDE = 640
CROP_SIDE = 960
QUALITY = 85
REDUCING_GAP = 3.0  # first by whole steps, then by the filter: as good to the eye, and quicker
LARGEST_PIXELS = 64_000_000
"""Decoded, that is 192 MB; phones take 12 to 50 million."""

_BROKEN = (OSError, ValueError, SyntaxError, EOFError, RuntimeError, struct.error, zlib.error)
"""What the decoders raise when a file is cut short or is something else under a picture's name."""


class PictureError(Exception):
    """A file that can't be kept as a photograph; `reason` says why."""

    def __init__(self, reason: Literal["unreadable", "too_many_pixels"]) -> None:
        super().__init__(reason)
        self.reason = reason


@dataclass(frozen=True, slots=True)
class PreparedPicture:
    """A photograph ready to keep.

    `large` and `small` are JPEG files; `width` and `height` are those of `large`. The digest is
    the same for the same pixels, whatever was written into the file beside them.
    """

    large: bytes
    small: bytes
    width: int
    height: int
    digest: str


def prepare_picture(file: BinaryIO) -> PreparedPicture:
    """Read a JPEG, PNG, WebP or HEIC file and make it fit to keep.

    Raises `PictureError` for a file that is no such picture, is cut short, or would unfold to more
    than `LARGEST_PIXELS`.
    """
    picture = _upright(file)
    picture.thumbnail((LARGEST_SIDE, LARGEST_SIDE), Image.Resampling.LANCZOS, REDUCING_GAP)
    width, height = picture.size
    large = _jpeg(picture)
    picture.thumbnail((SMALL_SIDE, SMALL_SIDE), Image.Resampling.LANCZOS, REDUCING_GAP)
    small = _jpeg(picture)
    return PreparedPicture(large, small, width, height, hashlib.sha256(large).hexdigest())


@dataclass(frozen=True, slots=True)
class CutOut:
    """A part of a photograph as a JPEG file, with its size in pixels."""

    jpeg: bytes
    width: int
    height: int


def cut_out(file: BinaryIO, boxes: Iterable[Box]) -> list[CutOut]:
    """Each of these parts of a photograph that is kept, none larger than is looked at.

    Raises `OSError` where the file is damaged.
    """
    found = []
    with Image.open(file, formats=("JPEG",)) as picture:
        picture.load()
        for box in boxes:
            part = picture.crop((box.left, box.top, box.right, box.bottom))
            part.thumbnail((CROP_SIDE, CROP_SIDE), Image.Resampling.LANCZOS)
            found.append(CutOut(_jpeg(part), *part.size))
    return found


def _upright(file: BinaryIO) -> Image.Image:
    """The picture's pixels as one looks at them, in sRGB, and nothing but its pixels."""
    try:
        with Image.open(file, formats=FORMATS) as opened:
            if opened.width * opened.height > LARGEST_PIXELS:
                raise PictureError("too_many_pixels")
            opened.load()
            return _plain_colours(ImageOps.exif_transpose(opened))
    except Image.DecompressionBombError as bomb:
        raise PictureError("too_many_pixels") from bomb
    except _BROKEN as broken:
        raise PictureError("unreadable") from broken


def _plain_colours(image: Image.Image) -> Image.Image:
    """In sRGB on white: phones photograph in wider colours, and a screenshot may be see-through."""
    profile = image.info.get("icc_profile")
    if image.mode in ("P", "PA", "LA", "La", "RGBa") or "transparency" in image.info:
        image = image.convert("RGBA")
    if image.mode == "RGBA":
        ground = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(ground, image).convert("RGB")
    if profile and image.mode in ("RGB", "CMYK", "L"):
        image = _to_srgb(image, profile)
    if image.mode.startswith("I"):  # 16 bits a pixel
        image = image.point(lambda value: value / 256).convert("L")
    plain = Image.new("RGB", image.size)
    plain.paste(image.convert("RGB"))
    return plain


def _to_srgb(image: Image.Image, profile: bytes) -> Image.Image:
    try:
        converted = ImageCms.profileToProfile(
            image,
            ImageCms.ImageCmsProfile(io.BytesIO(profile)),
            ImageCms.createProfile("sRGB"),
            outputMode="RGB",
        )
    except (ImageCms.PyCMSError, OSError, ValueError):
        return image  # a damaged profile: the colours as they stand are the best guess
    return image if converted is None else converted


def _jpeg(image: Image.Image) -> bytes:
    written = io.BytesIO()
    image.save(written, "JPEG", quality=QUALITY, optimize=True)
    return written.getvalue()
