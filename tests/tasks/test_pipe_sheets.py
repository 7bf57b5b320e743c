"""The sheets of a pipe, as one book of `scribeline sheets` and from `scribeline pipe --patterns`."""

from pathlib import Path

import ezdxf
import pytest

from scribeline.errors import SheetError
from scribeline.geometry.pipe_design import sections_of
from scribeline.geometry.pipe_pieces import PipeSection
from scribeline.marking.drafting import bounds
from scribeline.marking.page import pages, room
from scribeline.marking.paper import PAPERS
from scribeline.marking.sheet import Issue
from scribeline.tasks.pipe_files import pipe_wishes, report_drawing, write_patterns
from scribeline.tasks.pipe_sheets import PipeMaking, pipe_sheets
from scribeline.tasks.sheet_wishes import Wishes
from scribeline.tasks.sheets import write_sheets
from tests.examples import KART, REED, edited, path_of
from tests.tasks.pipes import first, fitted


@pytest.mark.parametrize("name", [KART, REED])
@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_every_sheet_of_a_demonstration_pipe_can_be_made(name: str, paper: str) -> None:
    made = pipe_sheets(sections_of(edited(name=name)), PipeMaking(), PAPERS[paper])
    names = [sheet.name for sheet in made.sheets]
    assert names[:3] == ["pipe-assembly", "pipe-list", "pipe-stock-1-overview"]
    assert len(set(names)) == len(names)
    assert {sheet.book for sheet in made.sheets} == {"pipe"}
    assert [sheet.template for sheet in made.sheets if sheet.name.startswith("pipe-pieces")]
    assert all(sheet.template for sheet in made.sheets if sheet.name.startswith("pipe-pieces"))
    assert [sheet.name for sheet in made.sheets if not sheet.printed] == [n for n in names if n.endswith(tuple("123"))
                                                                          and "stock" in n]  # fmt: skip


@pytest.mark.parametrize("name", [KART, REED])
@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_only_what_is_larger_than_the_paper_is_tiled(name: str, paper: str) -> None:
    issue = Issue("Invented engine", "0a1b2c3d", "2026-11-25")
    for sheet in pipe_sheets(sections_of(edited(name=name)), PipeMaking(), PAPERS[paper]).sheets:
        if sheet.printed:
            size, space = (
                bounds(sheet.drawing.groups),
                [room(sheet, one) for one in (PAPERS[paper], PAPERS[paper].turned())],
            )
            fits = any(size.width <= one.width and size.height <= one.height for one in space)
            assert (len(pages(sheet, issue, PAPERS[paper])) == 1) == fits, sheet.name
            assert fits or sheet.name.startswith("pipe-pieces")


def test_cautions_of_welding_are_on_the_assembly() -> None:
    assembly = pipe_sheets(sections_of(edited()), PipeMaking(), PAPERS["A4"]).sheets[0]
    assert "pipe" in assembly.cautions


def test_the_pipe_is_a_sheet_like_the_others(tmp_path: Path) -> None:
    written = write_sheets(path_of(KART), tmp_path, Wishes(only=("pipe",), formats=("pdf", "dxf")))
    names = {path.name for path in written.files}
    assert {"pipe.pdf", "pipe-stock-1.dxf"} <= names
    document = ezdxf.readfile(tmp_path / "pipe-stock-1.dxf")
    assert document.header["$INSUNITS"] == 4
    assert len(document.modelspace().query('LWPOLYLINE[layer=="CUT"]')) == 11


def test_patterns_of_a_designed_pipe_say_that_it_is(tmp_path: Path) -> None:
    wishes = pipe_wishes(1.2, 0.5, 0.0, "1000x1000", 15.0, "A4", "svg")
    files = write_patterns(first(), wishes, path_of(KART), tmp_path)
    assembly = next(path for path in files if path.name == "pipe-assembly.svg").read_text(encoding="utf-8")
    assert "+ pipe for 9000 rpm" in assembly
    assert "Sheet 1.2 mm" in assembly
    other = tmp_path / "fitted"
    files = write_patterns(fitted(), wishes, path_of(KART), other)
    assert "+ pipe for" not in (other / "pipe-assembly.svg").read_text(encoding="utf-8")


def test_what_cannot_be_made_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(SheetError, match="lacks an exhaust pipe"):
        pipe_sheets((), PipeMaking(), PAPERS["A4"])
    tight = (PipeSection("header", 200.0, 50.0, 50.0, 120.0, 28.0),)
    with pytest.raises(SheetError, match="larger bend radius"):
        pipe_sheets(tight, PipeMaking(), PAPERS["A4"])


def test_the_drawing_of_a_design_lies_over_the_fitted_pipe() -> None:
    assert [one.role for one in report_drawing(first()).groups].count("today") == 1
    assert "today" not in [one.role for one in report_drawing(fitted()).groups]
