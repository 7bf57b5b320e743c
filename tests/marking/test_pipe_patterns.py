"""Flat patterns as they come out: DXF read back with ezdxf, PDF printed at 600 dots per inch, pieces on stock."""

import doctest
import io
import math
from itertools import combinations

import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing as Document
from ezdxf.math import bulge_to_arc
from shapely import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from scribeline.errors import SheetError
from scribeline.geometry.flat_pattern import Sheet as Metal
from scribeline.geometry.pipe_pieces import PipeSection, cut_up
from scribeline.marking import pipe_patterns
from scribeline.marking.drafting import Box, bounds, texts
from scribeline.marking.dxf import write_dxf
from scribeline.marking.page import Page, pages, room
from scribeline.marking.paper import PAPERS
from scribeline.marking.pdf import write_pdf
from scribeline.marking.pipe_patterns import (
    SPACING_MM,
    Stock,
    nest,
    nested,
    overview_scale,
    pattern_drawings,
    stock_named,
)
from scribeline.marking.shapes import Drawing, Polyline
from scribeline.marking.sheet import Issue, Sheet
from tests.geometry.test_pipe_pieces import KART
from tests.marking.printed import Print, on_paper

ISSUE = Issue("Invented engine", "0a1b2c3d", "2026-11-25", invented=True)
STOCK = Stock(1000.0, 500.0)
THIN = Metal(1.0)
TRUE_MM = 0.05
ROOM = room(Sheet(Drawing("pipe", "", "", ()), "flange"), PAPERS["A4"])


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(pipe_patterns).failed == 0


# --- DXF -----------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def stock_dxf() -> Document:
    (placed,) = nest(cut_up(KART, THIN), STOCK)
    drawing = nested(placed, STOCK, 11, 1, 1)
    return ezdxf.read(io.StringIO(write_dxf(Sheet(drawing, "corner"), ISSUE)))


def edges(document: Document) -> list[list[tuple[float, float]]]:
    """Every closed outline on CUT as (length, bulge of the edge) of its edges."""
    found = []
    for outline in document.modelspace().query('LWPOLYLINE[layer=="CUT"]'):
        assert outline.closed
        points = list(outline.get_points("xyb"))
        lengths = []
        for (x0, y0, bulged), (x1, y1, _) in zip(points, points[1:] + points[:1], strict=True):
            length = math.dist((x0, y0), (x1, y1))
            if bulged:
                _, start, end, radius = bulge_to_arc((x0, y0), (x1, y1), bulged)
                length = radius * ((end - start) % math.tau)
            lengths.append((length, bulged))
        found.append(lengths)
    return found


def test_the_dxf_is_sound_in_millimetres_and_has_its_layers(stock_dxf: Document) -> None:
    assert stock_dxf.header["$INSUNITS"] == 4  # millimetres, see tests/reference/09
    assert not stock_dxf.audit().has_errors
    layers = {entity.dxf.layer for entity in stock_dxf.modelspace()}
    assert layers == {"CUT", "MARK", "BEND", "EDGE", "CHECK", "LETTERING"}
    words = {text.dxf.text for text in stock_dxf.modelspace().query("TEXT")}
    assert {"header 1/7", "diffuser", "Ø38 to Ø82 inside", "joins 9", "engine", "open end"} <= words


@pytest.mark.parametrize(("start", "end", "length"), [(38.0, 82.0, 255.0), (82.0, 21.5, 195.0)])
def test_a_cones_outline_in_the_dxf_has_its_lengths(
    stock_dxf: Document, start: float, end: float, length: float
) -> None:
    """Arcs: pi x (inside + t cos(half angle)); straights: the slant of the inside. All of it by hand, to 1e-6 mm."""
    slant = math.hypot(length, 0.5 * (end - start))
    arcs = sorted(math.pi * (d + length / slant) for d in (start, end))
    for lengths in edges(stock_dxf):
        straight = [one for one, bulged in lengths if not bulged]
        if len(straight) == 2 and straight == pytest.approx([slant] * 2, abs=1e-6):
            signs = {math.copysign(1.0, bulged) for _, bulged in lengths if bulged}
            found = sorted(
                sum(one for one, bulged in lengths if bulged and math.copysign(1.0, bulged) == sign) for sign in signs
            )
            assert found == pytest.approx(arcs, abs=1e-6)
            return
    pytest.fail("no such outline")


def test_a_tubes_outline_in_the_dxf_is_a_rectangle(stock_dxf: Document) -> None:
    sizes = [[one for one, _ in lengths] for lengths in edges(stock_dxf) if len(lengths) == 4]
    wanted = ([math.pi * 83.0, 110.0] * 2, [math.pi * 22.5, 240.0] * 2)
    for one in wanted:
        assert any(size == pytest.approx(one, abs=1e-6) for size in sizes)


def shapes_of(document: Document) -> list[Polygon]:
    from ezdxf.path import make_path

    outlines = document.modelspace().query('LWPOLYLINE[layer=="CUT"]')
    return [Polygon([(v.x, v.y) for v in make_path(one).flattening(0.001)]) for one in outlines]


def test_on_the_stock_no_pieces_touch_and_all_lie_inside(stock_dxf: Document) -> None:
    pieces = shapes_of(stock_dxf)
    assert len(pieces) == 11
    for one, other in combinations(pieces, 2):
        assert one.distance(other) > SPACING_MM - 0.1
    for one in pieces:
        assert box(0.0, 0.0, 1000.0, 500.0).exterior.distance(one) > SPACING_MM - 0.1
        assert box(0.0, 0.0, 1000.0, 500.0).contains(one)


def test_marks_and_bend_lines_lie_on_their_pieces(stock_dxf: Document) -> None:
    pieces: BaseGeometry = shapes_of(stock_dxf)[0]
    for one in shapes_of(stock_dxf)[1:]:
        pieces = pieces.union(one)
    lines = [
        LineString([(one.dxf.start.x, one.dxf.start.y), (one.dxf.end.x, one.dxf.end.y)])
        for one in stock_dxf.modelspace().query('LINE[layer=="MARK" | layer=="BEND"]')
    ]
    assert len(lines) > 11 * 8
    assert all(pieces.buffer(0.01).contains(one) for one in lines)


def test_small_stock_takes_several_sheets_and_too_small_stock_is_refused() -> None:
    pieces = cut_up(KART, THIN)
    sheets = nest(pieces, Stock(420.0, 300.0))
    assert len(sheets) > 1
    assert sorted(one.piece.number for sheet in sheets for one in sheet) == list(range(1, 12))
    with pytest.raises(
        SheetError, match=r"piece 8, diffuser, takes \d+ x \d+ mm and does not fit on stock of 250 x 250 mm"
    ):
        nest(pieces, Stock(250.0, 250.0))


@pytest.mark.parametrize("text", ["1000", "x", "1000x", "10x500", "1000x500x2", "1000 by 500", "nanx500"])
def test_stock_that_cannot_be_read_is_refused(text: str) -> None:
    with pytest.raises(SheetError, match="such as 1000x500"):
        stock_named(text)
    assert stock_named("1000 × 500") == STOCK


def test_the_overview_is_reduced_and_shows_every_number() -> None:
    (placed,) = nest(cut_up(KART, THIN), STOCK)
    drawing = nested(placed, STOCK, 11, 1, 1, overview_scale(STOCK))
    assert drawing.scale == 0.2
    assert bounds(drawing.groups).width == pytest.approx(200.0)
    assert {text.words for text in texts(drawing)} == {str(n) for n in range(1, 12)}
    with pytest.raises(SheetError, match="1:1"):
        write_dxf(Sheet(drawing, "corner"), ISSUE)


# --- paper ---------------------------------------------------------------------------------------------------------


def test_small_pieces_share_a_page_and_none_is_left_out() -> None:
    drawings = pattern_drawings(cut_up(KART, THIN), THIN, ROOM)
    assert [drawing.title for drawing in drawings[:3]] == [
        "Pipe, pieces 1 to 3 of 11",
        "Pipe, pieces 4 to 6 of 11",
        "Pipe, piece 7 of 11: header 7/7",
    ]
    for drawing in drawings[:3]:
        assert len(pages(Sheet(drawing, "flange", whole=True), ISSUE, PAPERS["A4"])) == 1
    cut = [one for drawing in drawings for one in drawing.groups if one.role == "cut"]
    assert [one.about.split(",")[0] for one in cut] == [f"outline of piece {n}" for n in range(1, 12)]


def test_every_pattern_says_what_it_is_and_gives_its_corners() -> None:
    (drawing,) = pattern_drawings(cut_up(KART[2:3], Metal(1.0, 0.5)), THIN, Box(0.0, 0.0, 300.0, 200.0))
    words = [text.words for text in texts(drawing)]
    assert words.count(f"{math.pi * 83.0 - 0.5:.1f}") == 2
    assert "110.0" in words
    assert {"belly", "Ø82 to Ø82 inside", "engine", "open end"} <= set(words)


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Page, Print, list[Polyline]]:
    """A tube, a cone and a bent tube, on one page; where to look is taken from the drawing, how long is not."""
    pipe = (
        PipeSection("tube", 40.0, 40.0, 40.0),
        PipeSection("cone", 60.0, 40.0, 30.0),
        PipeSection("bend", 60.0, 30.0, 30.0, 14.0, 200.0),
    )
    (drawing,) = pattern_drawings(cut_up(pipe, THIN)[:3], THIN, ROOM)
    (made,) = pages(Sheet(drawing, "flange"), ISSUE, PAPERS["A4"])
    (on,) = on_paper(write_pdf([made]), tmp_path_factory.mktemp("patterns"))
    outlines = [shape for one in drawing.groups if one.role == "cut" for shape in one.shapes]
    return made, on, outlines  # type: ignore[return-value]


def place(made: Page, outline: Polyline) -> tuple[float, float, float, float]:
    """left, bottom, right, top of an outline on the page"""
    points = np.array(outline.points) + made.shift
    return *points.min(axis=0), *points.max(axis=0)


def test_a_printed_tube_is_as_wide_as_its_wall_is_round(printed: tuple[Page, Print, list[Polyline]]) -> None:
    made, on, outlines = printed
    left, bottom, right, top = place(made, outlines[0])
    wide = on.upright_line(right, bottom + 15.0, bottom + 25.0) - on.upright_line(left, bottom + 15.0, bottom + 25.0)
    assert wide == pytest.approx(math.pi * 41.0, abs=TRUE_MM)
    high = on.level_line(top, left + 2.0, left + 8.0) - on.level_line(bottom, left + 2.0, left + 8.0)
    assert high == pytest.approx(40.0, abs=TRUE_MM)


def test_a_printed_cone_has_its_arcs(printed: tuple[Page, Print, list[Polyline]]) -> None:
    """1.5 mm beside the middle: between two circles about the cone's point, by hand, and both below their crown."""
    made, on, outlines = printed
    left, corners, right, far_corners = place(made, outlines[1])
    slant = math.hypot(60.0, 5.0)
    near, far = ((d + 60.0 / slant) * slant / 10.0 for d in (40.0, 30.0))
    sags = 1.0 - math.cos(math.pi * 5.0 / slant)  # half the sector is pi sin(half angle); arcs hang from their corners
    x = 1.5
    middle = 0.5 * (left + right) + x
    low = on.level_line(corners - near * sags, middle - 0.4, middle + 0.4)
    high = on.level_line(far_corners - far * sags, middle - 0.4, middle + 0.4)
    assert high - low == pytest.approx(math.sqrt(near**2 - x**2) - math.sqrt(far**2 - x**2), abs=TRUE_MM)


def test_a_printed_mitre_is_a_cosine(printed: tuple[Page, Print, list[Polyline]]) -> None:
    """30 + r tan(7 degrees) cos(phi): the first piece of a bend of 14 degrees in one joint, its seam at phi = 90."""
    made, on, outlines = printed
    left, bottom, right, _ = place(made, outlines[2])
    radius = 0.5 * (right - left) / math.pi
    assert radius == pytest.approx(15.5, abs=1e-6)
    heights = []
    for share in (0.3, 0.7):  # of the way round, between bend lines
        x = left + share * (right - left)
        low = on.level_line(bottom, x - 0.25, x + 0.25, within=0.8)
        along = 30.0 + radius * math.tan(math.radians(7.0)) * math.cos(math.radians(90.0 + 360.0 * share))
        heights.append((on.level_line(bottom + along, x - 0.25, x + 0.25, within=0.8) - low, along))
    for measured, expected in heights:
        assert measured == pytest.approx(expected, abs=TRUE_MM)
