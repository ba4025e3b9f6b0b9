"""Photographs made here, in every shape that a phone or a computer sends them."""

import io
from collections.abc import Callable

import pytest
from PIL import Image, ImageCms

from studio.pictures import LARGEST_PIXELS, LARGEST_SIDE, PictureError, prepare_picture

TOP_LEFT, BOTTOM_RIGHT = (200, 40, 30), (30, 60, 190)


def two_coloured(size: tuple[int, int] = (400, 300), mode: str = "RGB") -> Image.Image:
    """Red, with its right half blue from the middle down: turned any way, it looks different."""
    image = Image.new("RGB", size, TOP_LEFT)
    image.paste(BOTTOM_RIGHT, (size[0] // 2, size[1] // 2, size[0], size[1]))
    return image.convert(mode)


def file_of(image: Image.Image, kind: str = "JPEG", **how: object) -> io.BytesIO:
    file = io.BytesIO()
    image.save(file, kind, **how)
    file.seek(0)
    return file


def opened(jpeg: bytes) -> Image.Image:
    return Image.open(io.BytesIO(jpeg))


def looks_like(pixel: tuple[int, int, int], colour: tuple[int, int, int]) -> bool:
    return all(abs(a - b) < 20 for a, b in zip(pixel, colour, strict=True))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_each_kind_of_picture_becomes_a_jpeg(kind: str) -> None:
    prepared = prepare_picture(file_of(two_coloured(), kind))
    large = opened(prepared.large)
    assert (large.format, large.size) == ("JPEG", (400, 300))
    assert looks_like(large.getpixel((20, 20)), TOP_LEFT)
    assert looks_like(large.getpixel((380, 280)), BOTTOM_RIGHT)


def test_first_of_several_pictures_in_a_file_is_taken() -> None:
    """Some phones put a second view, for depth, behind the photograph."""
    second = two_coloured().convert("L").convert("RGB")
    file = file_of(two_coloured(), "MPO", save_all=True, append_images=[second])
    assert looks_like(opened(prepare_picture(file).large).getpixel((20, 20)), TOP_LEFT)


def test_large_picture_is_made_smaller_and_keeps_its_shape() -> None:
    prepared = prepare_picture(file_of(two_coloured((4000, 2000))))
    assert (prepared.width, prepared.height) == (LARGEST_SIDE, 1500)
    assert opened(prepared.large).size == (3000, 1500)
    assert opened(prepared.small).size == (640, 320)


def test_small_picture_is_never_enlarged() -> None:
    prepared = prepare_picture(file_of(two_coloured((60, 40))))
    assert opened(prepared.large).size == opened(prepared.small).size == (60, 40)


# EXIF 2.32, tag 274: how the stored rows must be turned to be looked at.
@pytest.mark.parametrize(
    ("orientation", "stored_as"),
    [
        (1, None),
        (3, Image.Transpose.ROTATE_180),
        (6, Image.Transpose.ROTATE_90),  # stored a quarter to the left, shown to the right
        (8, Image.Transpose.ROTATE_270),
        (2, Image.Transpose.FLIP_LEFT_RIGHT),
    ],
)
def test_picture_is_turned_upright(orientation: int, stored_as: Image.Transpose | None) -> None:
    image = two_coloured()
    stored = image if stored_as is None else image.transpose(stored_as)
    exif = Image.Exif()
    exif[274] = orientation
    large = opened(prepare_picture(file_of(stored, exif=exif)).large)
    assert large.size == (400, 300)
    assert looks_like(large.getpixel((20, 20)), TOP_LEFT)
    assert looks_like(large.getpixel((380, 280)), BOTTOM_RIGHT)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_nothing_written_into_the_picture_stays(kind: str) -> None:
    exif = Image.Exif()
    exif[271] = "A maker of phones"
    exif.get_ifd(0x8825).update({1: "N", 2: (47.0, 3.0, 12.0), 3: "E", 4: (9.0, 1.0, 2.0)})
    how: dict[str, object] = {"exif": exif.tobytes()}
    if kind != "PNG":
        how["xmp"] = b"<x:xmpmeta>47.05 N 9.02 E</x:xmpmeta>"
    if kind == "JPEG":
        how["comment"] = b"taken at home"
    prepared = prepare_picture(file_of(two_coloured(), kind, **how))
    for jpeg in (prepared.large, prepared.small):
        assert not opened(jpeg).getexif()
        assert set(opened(jpeg).info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert b"Exif" not in jpeg
        assert b"xmpmeta" not in jpeg
        assert b"taken at home" not in jpeg


def test_same_pixels_have_the_same_digest_whatever_is_written_beside_them() -> None:
    exif = Image.Exif()
    exif[271] = "A maker of phones"
    plain = prepare_picture(file_of(two_coloured()))
    assert prepare_picture(file_of(two_coloured(), exif=exif)).digest == plain.digest
    assert prepare_picture(file_of(two_coloured((400, 301)))).digest != plain.digest


@pytest.mark.parametrize("mode", ["1", "L", "P", "LA", "RGBA", "I;16", "CMYK"])
def test_every_way_of_storing_colours_is_read(mode: str) -> None:
    image = two_coloured(mode="L" if mode == "I;16" else mode)
    if mode == "I;16":
        image = image.convert("I").point(lambda value: value * 257).convert("I;16")
    kind = "JPEG" if mode == "CMYK" else "PNG"
    large = opened(prepare_picture(file_of(image, kind)).large)
    assert large.mode == "RGB"
    wanted = two_coloured(mode="L" if mode in ("1", "L", "LA", "I;16") else "RGB").convert("RGB")
    if mode != "1":  # two tones only: nothing to compare
        assert looks_like(large.getpixel((20, 20)), wanted.getpixel((20, 20)))


def test_see_through_picture_stands_on_white() -> None:
    image = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    assert opened(prepare_picture(file_of(image, "PNG")).large).getpixel((5, 5)) == (255, 255, 255)


def test_colours_are_carried_to_srgb() -> None:
    """A profile whose red is blue: what is stored as red was meant as blue, and is kept so."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = srgb.replace(b"rXYZ", b"?XYZ").replace(b"bXYZ", b"rXYZ").replace(b"?XYZ", b"bXYZ")
    red = Image.new("RGB", (60, 40), (250, 10, 10))
    kept = opened(prepare_picture(file_of(red, icc_profile=swapped)).large)
    assert looks_like(kept.getpixel((20, 20)), (10, 10, 250))
    kept = opened(prepare_picture(file_of(red, icc_profile=srgb)).large)
    assert looks_like(kept.getpixel((20, 20)), (250, 10, 10))


def test_damaged_colour_profile_is_passed_over() -> None:
    kept = opened(prepare_picture(file_of(two_coloured(), icc_profile=b"no profile")).large)
    assert looks_like(kept.getpixel((20, 20)), TOP_LEFT)


def _text() -> io.BytesIO:
    return io.BytesIO(b"These are my notes, not a picture." * 40)


def _cut_short(kind: str) -> Callable[[], io.BytesIO]:
    def file() -> io.BytesIO:
        noise = Image.effect_noise((400, 300), 80).convert("RGB")
        whole = file_of(noise, kind).getvalue()
        return io.BytesIO(whole[: len(whole) // 2])

    return file


@pytest.mark.parametrize(
    "make_file",
    [
        _text,
        io.BytesIO,
        _cut_short("JPEG"),
        _cut_short("PNG"),
        _cut_short("WEBP"),
        _cut_short("HEIF"),
        lambda: file_of(two_coloured(), "GIF"),
        lambda: file_of(two_coloured(), "TIFF"),
        lambda: io.BytesIO(b"\xff\xd8\xff\xe0" + b"\0" * 500),
        lambda: io.BytesIO(b"\x89PNG\r\n\x1a\n" + b"\0" * 500),
    ],
)
def test_what_is_no_whole_picture_is_refused(make_file: Callable[[], io.BytesIO]) -> None:
    with pytest.raises(PictureError) as refused:
        prepare_picture(make_file())
    assert refused.value.reason == "unreadable"


@pytest.mark.parametrize("side", [8001, 20_000])
def test_small_file_that_unfolds_without_end_is_refused(side: int) -> None:
    """A plain picture of one bit a pixel packs into a few kilobytes, and fills memory unpacked."""
    file = file_of(Image.new("1", (side, side)), "PNG")
    assert side * side > LARGEST_PIXELS
    assert len(file.getvalue()) < 100_000
    with pytest.raises(PictureError) as refused:
        prepare_picture(file)
    assert refused.value.reason == "too_many_pixels"
