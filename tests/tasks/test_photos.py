"""Photographs made small: upright, without what the phone wrote into them, and never larger than can be held."""

import io
import struct
import zlib
from pathlib import Path

import pytest
from PIL import Image

from scribeline.errors import UploadError
from scribeline.tasks.photos import small_photo


def opened(jpeg: bytes) -> Image.Image:
    return Image.open(io.BytesIO(jpeg))


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_each_type_comes_out_as_a_small_jpeg(tmp_path: Path, form: str) -> None:
    path = tmp_path / "x"
    Image.new("RGB", (1200, 800), "red").save(path, form)
    small = opened(small_photo(path, "x.jpg", 320))
    assert (small.format, small.size) == ("JPEG", (320, 213))


def test_a_small_one_is_not_blown_up(tmp_path: Path) -> None:
    path = tmp_path / "x"
    Image.new("L", (40, 30)).save(path, "PNG")
    assert opened(small_photo(path, "x", 320)).size == (40, 30)


def test_it_is_turned_upright_and_forgets_where_it_was_taken(tmp_path: Path) -> None:
    """Orientation 6 (TIFF 6.0, page 36; EXIF has it from there): column 0 as stored is the top of the scene."""
    path = tmp_path / "x"
    stored = Image.new("RGB", (60, 40), "white")
    stored.paste("black", (0, 0, 10, 40))
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    exif[0x010F] = "a phone"
    stored.save(path, "JPEG", exif=exif, quality=95)
    small = opened(small_photo(path, "x", 320))
    assert small.size == (40, 60)
    assert not small.getexif()
    grey = small.convert("L")
    assert grey.getpixel((20, 2)) < 60
    assert grey.getpixel((20, 55)) > 200


def test_what_is_see_through_lies_on_white(tmp_path: Path) -> None:
    path = tmp_path / "x"
    Image.new("RGBA", (30, 30), (0, 0, 0, 0)).save(path, "PNG")
    assert opened(small_photo(path, "x", 320)).convert("L").getpixel((15, 15)) > 250


def bomb(side: int) -> bytes:
    """A PNG (ISO/IEC 15948) of some kilobytes that unpacks to side x side grey pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = zlib.compress(b"\0" * (side + 1) * min(side, 2000), 9)
    header = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [11_000, 60_000])
def test_a_picture_that_unpacks_to_gigabytes_is_refused_before_it_does(tmp_path: Path, side: int) -> None:
    path = tmp_path / "x"
    path.write_bytes(bomb(side))
    assert path.stat().st_size < 200_000
    with pytest.raises(UploadError, match=r"(?s)bomb\.png.*pixels.*at most 100 million"):
        small_photo(path, "bomb.png", 320)


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"\xff\xd8\xff\xe0 not more", b"\x89PNG\r\n\x1a\n" + b"x" * 50])
def test_what_is_no_picture_is_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "x"
    path.write_bytes(data)
    with pytest.raises(UploadError, match=r"(?s)x\.jpg is no photograph.*what to do:"):
        small_photo(path, "x.jpg", 320)


def test_a_photograph_that_broke_off_is_refused(tmp_path: Path) -> None:
    whole = io.BytesIO()
    Image.effect_noise((400, 400), 50).save(whole, "JPEG")
    path = tmp_path / "x"
    path.write_bytes(whole.getvalue()[:2000])
    with pytest.raises(UploadError, match="cannot be read"):
        small_photo(path, "x.jpg", 320)
