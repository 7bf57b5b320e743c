"""Picture files: turned upright, and refused with a reason before anything large is decoded."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from scribeline.errors import RubbingError
from scribeline.rubbing.photograph import open_photograph

UPPER_LEFT_DARK = np.full((700, 900), 220, np.uint8)
UPPER_LEFT_DARK[:200, :300] = 20


def saved(path: Path, **wishes: object) -> Path:
    Image.fromarray(UPPER_LEFT_DARK).save(path, **wishes)  # type: ignore[arg-type]
    return path


@pytest.mark.parametrize("ending", ["jpg", "png", "tif", "webp"])
def test_known_types_are_read(tmp_path: Path, ending: str) -> None:
    picture = open_photograph(saved(tmp_path / f"a.{ending}"))
    assert picture.grey.shape == (700, 900)
    assert picture.grey[100, 100] == pytest.approx(20 / 255, abs=0.02)
    assert picture.grey[500, 500] == pytest.approx(220 / 255, abs=0.02)


# The orientation tag (274) of the EXIF standard, CIPA DC-008: what each value says of row 0 and column 0.
@pytest.mark.parametrize(
    ("orientation", "dark"),
    [(1, (0, 0)), (2, (0, 1)), (3, (1, 1)), (4, (1, 0)), (5, (0, 0)), (6, (0, 1)), (7, (1, 1)), (8, (1, 0))],
)
def test_the_turn_that_a_phone_noted_is_carried_out(tmp_path: Path, orientation: int, dark: tuple[int, int]) -> None:
    exif = Image.Exif()
    exif[274] = orientation
    grey = open_photograph(saved(tmp_path / "a.jpg", exif=exif)).grey
    assert grey.shape == ((900, 700) if orientation >= 5 else (700, 900))
    corners = {(i, j): float(grey[-20 if i else 20, -20 if j else 20]) for i in (0, 1) for j in (0, 1)}
    assert min(corners, key=corners.__getitem__) == dark


def test_resolution_is_kept_and_turned_along(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[274] = 6
    assert open_photograph(saved(tmp_path / "a.png", dpi=(300, 300))).dpi == pytest.approx((300, 300), rel=1e-4)
    assert open_photograph(saved(tmp_path / "b.jpg", dpi=(300, 600), exif=exif)).dpi == pytest.approx((600, 300))
    assert open_photograph(saved(tmp_path / "c.png")).dpi is None


def test_what_is_see_through_counts_as_white(tmp_path: Path) -> None:
    Image.new("RGBA", (700, 700), (0, 0, 0, 0)).save(tmp_path / "a.png")
    assert open_photograph(tmp_path / "a.png").grey.min() == 1.0


@pytest.mark.parametrize("ending", ["gif", "bmp", "ppm"])
def test_other_types_are_refused(tmp_path: Path, ending: str) -> None:
    with pytest.raises(RubbingError, match="not a picture of a known type"):
        open_photograph(saved(tmp_path / f"a.{ending}"))


def test_a_name_that_lies_is_no_way_in(tmp_path: Path) -> None:
    (tmp_path / "a.jpg").write_bytes(saved(tmp_path / "a.gif").read_bytes())
    with pytest.raises(RubbingError, match="known type"):
        open_photograph(tmp_path / "a.jpg")


def test_a_picture_cut_short_is_refused(tmp_path: Path) -> None:
    whole = saved(tmp_path / "a.jpg").read_bytes()
    for share in (0.3, 0.6, 0.95):
        (tmp_path / "cut.jpg").write_bytes(whole[: int(share * len(whole))])
        with pytest.raises(RubbingError, match=r"damaged|known type"):
            open_photograph(tmp_path / "cut.jpg")


def test_a_small_file_that_unpacks_to_a_huge_picture_is_refused_undecoded(tmp_path: Path) -> None:
    for side, words in ((10_400, "10400 x 10400 pixels"), (14_000, "far more pixels")):
        Image.new("1", (side, side)).save(tmp_path / "bomb.png")
        assert (tmp_path / "bomb.png").stat().st_size < 200_000
        with pytest.raises(RubbingError, match=words):
            open_photograph(tmp_path / "bomb.png")


def test_too_large_too_small_and_missing_files_are_refused(tmp_path: Path) -> None:
    with (tmp_path / "large.jpg").open("wb") as large:
        large.truncate(61_000_000)
    with pytest.raises(RubbingError, match="61 MB"):
        open_photograph(tmp_path / "large.jpg")
    Image.new("L", (599, 900)).save(tmp_path / "small.png")
    with pytest.raises(RubbingError, match="599 x 900"):
        open_photograph(tmp_path / "small.png")
    with pytest.raises(RubbingError, match="cannot be read"):
        open_photograph(tmp_path / "missing.jpg")
