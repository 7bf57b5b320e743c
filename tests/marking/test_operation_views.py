"""The drawings of the operations, and the files that hold them."""

import doctest
import runpy
import sys
from pathlib import Path

import pytest

from scribeline.errors import SheetError
from scribeline.marking import operation_views
from scribeline.marking.operation_views import OPERATIONS_DRAWN, file_name, operation_drawing, write_pictures
from scribeline.marking.svg import write_svg
from scribeline.plan.operations import BY_KEY
from tests.marking.svg_reading import Picture

PICTURES = Path(__file__).resolve().parent.parent.parent / "docs" / "pictures" / "operations"


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(operation_views).failed == 0


def test_every_operation_has_a_drawing_and_no_other() -> None:
    assert list(OPERATIONS_DRAWN) == list(BY_KEY)


@pytest.mark.parametrize("name", OPERATIONS_DRAWN)
def test_the_file_is_what_the_code_draws(name: str) -> None:
    """After a change: python -m scribeline.marking.operation_views docs/pictures/operations"""
    committed = (PICTURES / f"{file_name(name)}.svg").read_text(encoding="utf-8")
    assert committed == write_svg(operation_drawing(name))
    assert len(committed) < 12_000


@pytest.mark.parametrize("name", OPERATIONS_DRAWN)
def test_what_changes_is_in_the_accent_and_said_in_words(name: str) -> None:
    drawing = operation_drawing(name)
    assert (drawing.name, drawing.title) == (file_name(name), name.capitalize())
    assert len(drawing.description) > 80
    assert Picture(write_svg(drawing)).groups("target")


def test_an_operation_without_a_drawing_is_refused_with_those_that_have_one() -> None:
    with pytest.raises(SheetError, match=r"no drawing of 'polish it'.*swap base gasket"):
        operation_drawing("polish it")


def test_all_are_written_into_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "new" / "operations"
    assert [path.stem for path in write_pictures(folder)] == [file_name(name) for name in OPERATIONS_DRAWN]
    again = tmp_path / "again"
    monkeypatch.setattr(sys, "argv", ["operation_views", str(again)])
    monkeypatch.delitem(sys.modules, "scribeline.marking.operation_views")
    runpy.run_module("scribeline.marking.operation_views", run_name="__main__")
    assert {path.name: path.read_bytes() for path in again.iterdir()} == {
        path.name: path.read_bytes() for path in folder.iterdir()
    }
