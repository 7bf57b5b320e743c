"""The drawings of the how-to pages, and the files that hold them."""

import doctest
import runpy
import sys
from pathlib import Path

import pytest

from scribeline.errors import SheetError
from scribeline.marking import measuring_views
from scribeline.marking.measuring_views import MEASUREMENTS, measuring_drawing, write_pictures
from scribeline.marking.svg import write_svg
from tests.marking.svg_reading import Picture

PICTURES = Path(__file__).resolve().parent.parent.parent / "docs" / "pictures"
MEASURED = {  # what the accent names in each drawing
    "deck-clearance": "deck clearance",
    "bore": "bore",
    "squish": "gap",
    "port-height": "roof from deck",
    "port-width": "chord",
    "rubbing": "width (arc)",
    "head-volume": "volume poured",
    "rod-length": "rod length, centre to centre",
    "skirt-length": "skirt, intake side",
    "crankcase-volume": "volume poured",
    "rolling-circumference": "one turn: rolling circumference",
}


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(measuring_views).failed == 0


@pytest.mark.parametrize("name", MEASUREMENTS)
def test_the_file_is_what_the_code_draws(name: str) -> None:
    """After a change: python -m scribeline.marking.measuring_views docs/pictures"""
    assert (PICTURES / f"{name}.svg").read_text(encoding="utf-8") == write_svg(measuring_drawing(name))


@pytest.mark.parametrize("name", MEASUREMENTS)
def test_a_file_is_small(name: str) -> None:
    assert (PICTURES / f"{name}.svg").stat().st_size < 12_000


@pytest.mark.parametrize("name", MEASURED)
def test_the_accent_is_on_what_is_measured(name: str) -> None:
    read = Picture(write_svg(measuring_drawing(name)))
    accented = [text.text for one in read.groups("measured") for text in one.iter() if text.tag.endswith("}text")]
    assert MEASURED[name] in accented


def test_the_degree_wheel_shows_both_readings() -> None:
    read = Picture(write_svg(measuring_drawing("degree-wheel")))
    assert {"turning back", "turning forwards"} <= set(read.words)
    assert read.groups("measured")


@pytest.mark.parametrize("name", MEASUREMENTS)
def test_title_and_words_say_how_it_is_measured(name: str) -> None:
    drawing = measuring_drawing(name)
    assert drawing.name == name
    assert drawing.title.split()[0] in ("Measuring", "Finding", "Taking")
    assert len(drawing.description) > 80


def test_a_measurement_without_a_drawing_is_refused_with_those_that_have_one() -> None:
    with pytest.raises(SheetError, match=r"no drawing of 'piston speed'.*deck-clearance"):
        measuring_drawing("piston speed")


def test_all_are_written_into_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "new" / "pictures"
    assert [path.name for path in write_pictures(folder)] == [f"{name}.svg" for name in MEASUREMENTS]
    again = tmp_path / "again"
    monkeypatch.setattr(sys, "argv", ["measuring_views", str(again)])
    monkeypatch.delitem(sys.modules, "scribeline.marking.measuring_views")
    runpy.run_module("scribeline.marking.measuring_views", run_name="__main__")
    assert {path.name: path.read_bytes() for path in again.iterdir()} == {
        path.name: path.read_bytes() for path in folder.iterdir()
    }
