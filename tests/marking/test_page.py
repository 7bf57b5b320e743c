"""Pages: full size or refused, with all four check bars on each; tiles that give the drawing back."""

import doctest
import math
from dataclasses import FrozenInstanceError, fields, replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.errors import SheetError
from scribeline.marking import check_bars, page, paper, printer, title_block
from scribeline.marking.drafting import bounds, text_box
from scribeline.marking.page import OVERLAP_MM, Page, pages, room
from scribeline.marking.paper import MARGIN_MM, PAPERS, Paper, paper_named
from scribeline.marking.pdf import write_pdf
from scribeline.marking.printer import Printer, bar_reading_mm
from scribeline.marking.shapes import Circle, Drawing, Group, Polyline, Text, group, line, rectangle
from scribeline.marking.sheet import Issue, Sheet
from scribeline.marking.svg import write_page_svg
from tests.marking.demonstrations import DRAWINGS
from tests.marking.printed import Print, on_paper

ISSUE = Issue("Invented engine", "0a1b2c3d", "2026-11-25", invented=True)
every_paper = pytest.mark.parametrize("name", PAPERS)


def plate(width_mm: float, height_mm: float, name: str = "plate") -> Sheet:
    edge = group("outline", rectangle(0, 0, width_mm, height_mm), Circle((0.5 * width_mm, 0.5 * height_mm), 40.0))
    return Sheet(Drawing(name, "A plate", "A plate with a hole.", (edge,)), "its lower left corner")


@pytest.mark.parametrize("module", [page, paper, printer, check_bars, title_block])
def test_examples_in_the_docstrings(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]


# --- the check bars -----------------------------------------------------------------------------------------------


def without(made: Page, keep: object) -> Page:
    """The same page with part of its check bars left out."""
    shapes = [
        replace(one, shapes=tuple(shape for shape in one.shapes if one.role != "check" or keep(shape)))  # type: ignore[operator]
        for one in made.furniture
    ]
    return replace(made, furniture=tuple(shapes))


def is_axis(shape: object, length: float, up: bool) -> bool:
    if not (isinstance(shape, Polyline) and len(shape.points) == 2):
        return False
    (x0, y0), (x1, y1) = shape.points
    return math.isclose(abs(y1 - y0) if up else abs(x1 - x0), length)


@pytest.mark.parametrize("write", [lambda made: write_pdf([made]), write_page_svg], ids=["pdf", "svg"])
@pytest.mark.parametrize("length", [100.0, 101.6])
@pytest.mark.parametrize("up", [False, True])
def test_a_page_that_lacks_one_check_bar_is_not_written(write: object, length: float, up: bool) -> None:
    (made,) = pages(plate(100, 100), ISSUE, PAPERS["A4"])
    write(made)  # type: ignore[operator]
    broken = without(made, lambda shape: not is_axis(shape, length, up))
    with pytest.raises(SheetError, match="without its check bars"):
        write(broken)  # type: ignore[operator]


def test_nothing_that_can_be_said_of_a_page_leaves_its_check_bars_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """No argument switches them off, and where the code that draws them is taken out no page is written."""
    names = {field.name for field in fields(Sheet)} | {field.name for field in fields(Issue)}
    assert not any("bar" in name or "check" in name for name in names)
    (made,) = pages(plate(100, 100), ISSUE, PAPERS["A4"])
    with pytest.raises(FrozenInstanceError):
        made.furniture = ()  # type: ignore[misc]
    monkeypatch.setattr(title_block, "bars", lambda at, up, edge: [])
    (bare,) = pages(plate(100, 100), ISSUE, PAPERS["A4"])
    with pytest.raises(SheetError, match="100 mm across"):
        write_pdf([bare])
    with pytest.raises(SheetError, match="without its check bars"):
        write_page_svg(bare)


def test_a_bar_that_reaches_over_the_paper_does_not_count() -> None:
    (made,) = pages(plate(100, 100), ISSUE, PAPERS["A4"])
    narrow = replace(made, paper=Paper("strip", 150.0, 297.0))
    with pytest.raises(SheetError, match="across"):
        write_pdf([narrow])


def test_a_paper_too_small_for_the_bars_is_refused() -> None:
    with pytest.raises(SheetError, match="choose a larger paper"):
        pages(plate(20, 20), ISSUE, Paper("card", 105.0, 148.0))


# --- the room round the drawing -----------------------------------------------------------------------------------


@every_paper
@pytest.mark.parametrize("turned", [False, True])
def test_everything_stands_on_the_paper_and_the_drawing_touches_nothing(name: str, turned: bool) -> None:
    sheet = plate(230, 60) if turned else plate(60, 180)
    (made,) = pages(sheet, ISSUE, PAPERS[name])
    box = bounds(made.furniture)
    assert box.left >= MARGIN_MM - 1e-9
    assert box.bottom >= MARGIN_MM - 1e-9
    assert box.right <= made.paper.width_mm - MARGIN_MM + 1e-9
    assert box.top <= made.paper.height_mm - MARGIN_MM + 1e-9
    frame = next(one for one in made.furniture if one.role == "frame")
    texts = [shape for one in made.furniture for shape in one.shapes if isinstance(shape, Text)]
    window = made.window
    assert not any(text_box(text).overlaps(window) for text in texts)
    assert not any(one.overlaps(other) for one, other in _pairs([text_box(text) for text in texts]))
    bars = [bounds([one]) for one in made.furniture if one.role == "check"]
    assert not any(bar.overlaps(window) for bar in bars)
    for shape in frame.shapes[1:]:
        for x, y in shape.points:  # type: ignore[union-attr]
            assert not (window.left < x < window.right and window.bottom < y < window.top)


def _pairs(boxes: list) -> list:  # type: ignore[type-arg]
    return [(one, other) for i, one in enumerate(boxes) for other in boxes[i + 1 :]]


def test_every_page_says_what_it_was_made_from() -> None:
    (made,) = pages(plate(100, 100), ISSUE, PAPERS["Letter"], Printer(98.7, 100.2))
    words = " ".join(shape.words for one in made.proved for shape in one.shapes if isinstance(shape, Text))
    for said in (
        "Invented engine (invented)", "0a1b2c3d", "2026-11-25", "its lower left corner", "FULL SIZE 1:1", "1 of 1",
        "Letter", "98.7 short edge, 100.2 long edge", "Measure all four bars", "Metal does not grow back",
        "eye protection",
    ):  # fmt: skip
        assert said in words


def test_an_enlarged_drawing_says_that_it_is_no_template() -> None:
    large = replace(plate(100, 100), drawing=replace(plate(100, 100).drawing, scale=5.0))
    (made,) = pages(large, ISSUE, PAPERS["A4"])
    words = [shape.words for one in made.proved for shape in one.shapes if isinstance(shape, Text)]
    assert "5:1 - NOT A TEMPLATE" in words


def test_an_unknown_paper_is_refused_with_those_that_are_known() -> None:
    assert paper_named("letter").name == "Letter"
    with pytest.raises(SheetError, match="A4, A3, Letter"):
        paper_named("A5")


# --- tiles ----------------------------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=60)
@given(st.floats(10.0, 1200.0), st.floats(10.0, 1200.0), st.sampled_from(sorted(PAPERS)))
def test_tiles_cover_the_drawing_and_share_the_overlap(width: float, height: float, name: str) -> None:
    sheet = plate(max(width, 80.0), max(height, 80.0))
    made = pages(sheet, ISSUE, PAPERS[name])
    seen = [
        (one.window.left - one.shift[0], one.window.bottom - one.shift[1], one.window.width, one.window.height)
        for one in made
    ]
    lefts, bottoms = sorted({x for x, *_ in seen}), sorted({y for _, y, *_ in seen})
    wide, high = seen[0][2:]
    assert len(lefts) * len(bottoms) == len(made)
    drawn = bounds(sheet.drawing.groups)
    assert lefts[0] <= drawn.left + 1e-6
    assert lefts[-1] + wide >= drawn.right - 1e-6
    assert bottoms[0] <= drawn.bottom + 1e-6
    assert bottoms[-1] + high >= drawn.top - 1e-6
    assert np.allclose(np.diff(lefts), wide - OVERLAP_MM)
    assert np.allclose(np.diff(bottoms), high - OVERLAP_MM)
    assert [one.number for one in made] == list(range(1, len(made) + 1))
    assert len({one.name for one in made}) == len(made)
    for one in made:
        assert one.proved


def crosses(made: Page) -> dict[tuple[float, float], str]:
    """Where on the drawing the crosses of a page stand."""
    return {
        (round(shape.centre[0] - made.shift[0], 6), round(shape.centre[1] - made.shift[1], 6)): one.about
        for one in made.furniture
        if one.role == "register"
        for shape in one.shapes
        if isinstance(shape, Circle)
    }


def test_neighbours_have_the_same_crosses_and_name_each_other() -> None:
    made = {one.tile: one for one in pages(plate(300, 400), ISSUE, PAPERS["A4"])}
    assert set(made) == {"A1", "A2", "B1", "B2"}
    for one, other in (("A1", "A2"), ("B1", "B2"), ("A1", "B1"), ("A2", "B2")):
        mine, theirs = crosses(made[one]), crosses(made[other])
        common = set(mine) & set(theirs)
        assert len(common) == 2
        assert {mine[place] for place in common} == {f"joint with tile {other}"}
        assert {theirs[place] for place in common} == {f"joint with tile {one}"}


def test_a_drawing_that_must_stay_whole_is_not_tiled() -> None:
    with pytest.raises(SheetError, match="must not be cut into tiles"):
        pages(replace(plate(300, 400), whole=True), ISSUE, PAPERS["A4"])


def test_a_slip_in_a_length_does_not_give_a_thousand_pages() -> None:
    with pytest.raises(SheetError, match="check the record's lengths"):
        pages(plate(9000, 9000), ISSUE, PAPERS["A4"])


def test_tiles_joined_at_their_crosses_give_the_drawing_back(tmp_path: Path) -> None:
    """Printed, found by the crosses alone and laid over each other: the edges are as long as they were drawn."""
    made = pages(plate(300, 380), ISSUE, PAPERS["A4"])
    prints = dict(zip((one.tile for one in made), on_paper(write_pdf(made), tmp_path, dpi=300), strict=True))
    page_of = {one.tile: one for one in made}

    def cross(tile: str, neighbour: str) -> list[tuple[float, float]]:
        """The two crosses towards a neighbour, as measured on the print."""
        found = []
        for one in page_of[tile].furniture:
            if one.about == f"joint with tile {neighbour}":
                for shape in one.shapes:
                    if isinstance(shape, Circle):
                        x, y = shape.centre
                        found.append((measured_x(prints[tile], x, y), measured_y(prints[tile], x, y)))
        return found

    # A1's right edge over A2's left, by the mean of two crosses each
    (a, b), (c, d) = cross("A1", "A2"), cross("A2", "A1")
    shift = 0.5 * (a[0] + b[0] - c[0] - d[0])
    left = prints["A1"].upright_line(edge(page_of["A1"], 0.0), 150.0, 180.0)
    right = prints["A2"].upright_line(edge(page_of["A2"], 300.0), 150.0, 180.0) + shift
    assert right - left == pytest.approx(300.0, abs=0.1)  # a dot of the print is 0.085 mm
    (a, b), (c, d) = cross("A1", "B1"), cross("B1", "A1")
    rise = 0.5 * (a[1] + b[1] - c[1] - d[1])
    top = prints["A1"].level_line(380.0 + page_of["A1"].shift[1], 100.0, 130.0)
    bottom = prints["B1"].level_line(page_of["B1"].shift[1], 100.0, 130.0) + rise
    assert top - bottom == pytest.approx(380.0, abs=0.1)


def edge(made: Page, x: float) -> float:
    return x + made.shift[0]


def measured_x(on: Print, x: float, y: float) -> float:
    return on.upright_line(x, y - 3.8, y - 2.4, 0.6)


def measured_y(on: Print, x: float, y: float) -> float:
    return on.level_line(y, x - 3.8, x - 2.4, 0.6)


# --- the printer's correction ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("across", "up"), [(94.9, 100.0), (100.0, 105.1), (0.0, 100.0), (float("nan"), 100.0)])
def test_a_correction_beyond_five_percent_is_refused(across: float, up: float) -> None:
    with pytest.raises(SheetError, match="95 to 105 mm"):
        Printer(across, up)


@pytest.mark.parametrize("lying", [False, True])
def test_the_correction_goes_with_the_paper_and_not_with_the_drawing(lying: bool) -> None:
    """A printer that is 1.3 % small along the short edge is so whichever way round the drawing lies."""
    (made,) = pages(plate(230, 60) if lying else plate(60, 180), ISSUE, PAPERS["A4"], Printer(across_mm=98.7))
    assert (made.paper.width_mm > made.paper.height_mm) == lying
    assert made.printer.factors == pytest.approx((1.0, 100 / 98.7) if lying else (100 / 98.7, 1.0))
    bars = {one.about: one for one in made.furniture if one.role == "check" and one.about}
    assert len(bars) == 4
    edges = [shape for one in made.furniture if one.role == "check" for shape in one.shapes if isinstance(shape, Text)]
    along = {(text.words, text.turned_deg) for text in edges}
    level, upright = ("long edge", "short edge") if lying else ("short edge", "long edge")
    assert along == {(f"{bar}, {edge}", turn) for bar in ("100 mm", "4 in") for edge, turn in
                     ((level, 0.0), (upright, 90.0))}  # fmt: skip


def test_the_limits_themselves_are_accepted() -> None:
    assert Printer(95.0, 105.0).factors == pytest.approx((100 / 95, 100 / 105))


@pytest.mark.parametrize(
    ("typed", "mm"), [("98.7", 98.7), ("98,7 mm", 98.7), ("9.87 cm", 98.7), ("4 in", 100.0), ('3.948"', 98.7)]
)
def test_what_a_bar_measured_may_be_typed_in_mm_or_inches(typed: str, mm: float) -> None:
    assert bar_reading_mm(typed, "across") == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize("typed", ["101.6", "101.5 mm", "3.937 in", '3 15/16"'])
def test_a_reading_that_fits_the_other_bar_is_asked_for_again(typed: str) -> None:
    with pytest.raises(SheetError, match="is that of the other bar"):
        bar_reading_mm(typed, "up")


@pytest.mark.parametrize("name", sorted(DRAWINGS))
def test_every_drawing_of_ours_can_be_put_on_a_page(name: str) -> None:
    sheet = Sheet(DRAWINGS[name], "as drawn")
    for made in pages(sheet, ISSUE, PAPERS["A4"]):
        space = room(sheet, made.paper)
        assert made.window == space
        if made.of == 1:
            box = bounds(made.sheet.drawing.groups)
            assert box.left + made.shift[0] >= space.left - 1e-6
            assert box.right + made.shift[0] <= space.right + 1e-6


def test_a_group_is_told_by_its_role() -> None:
    made = Group("check", (line((0, 0), (100, 0)),))
    with pytest.raises(SheetError, match=r"101\.6 mm across"):
        check_bars.prove([made], 200, 200)
