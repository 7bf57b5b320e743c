"""The wrap: as long as the sheet's own middle, ports where they are, printed true, nothing on top of something else."""

import doctest
import io
import math
from dataclasses import replace
from pathlib import Path
from typing import Literal

import ezdxf
import pytest
from ezdxf.math import bulge_to_arc
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.errors import SheetError
from scribeline.marking import moving, stop_line, wrap
from scribeline.marking.bore_view import Bore, seam
from scribeline.marking.drafting import bounds, flattened, text_box
from scribeline.marking.dxf import write_dxf
from scribeline.marking.moving import moved, stretched
from scribeline.marking.page import pages
from scribeline.marking.paper import PAPERS
from scribeline.marking.pdf import write_pdf
from scribeline.marking.port_outline import PortOutline
from scribeline.marking.shapes import Circle, Dimension, Drawing, Group, Polyline, Text, arc, group, rounded_rectangle
from scribeline.marking.sheet import Issue, Sheet
from scribeline.marking.stop_line import stop_outline
from scribeline.marking.wrap import Wrap, wrap_drawing
from tests.marking.demonstrations import CROWDED_BORE, KART_BORE
from tests.marking.printed import on_paper

ISSUE = Issue("Invented engine", "0a1b2c3d", "2026-11-25", invented=True)
EXHAUST = KART_BORE.ports[0]
TARGET = replace(EXHAUST, roof_depth_mm=28.1, width_arc_mm=38.0)
PLANNED = replace(KART_BORE, planned=(TARGET, *KART_BORE.ports[1:]))
TRUE_MM = 0.05


def groups(drawing: Drawing, words: str) -> list[Group]:
    return [one for one in drawing.groups if one.about.startswith(words)]


def outline(drawing: Drawing, words: str) -> Polyline:
    (found,) = groups(drawing, words)
    (loop,) = found.shapes
    assert isinstance(loop, Polyline)
    return loop


@pytest.mark.parametrize("module", [wrap, stop_line, moving])
def test_examples_in_the_docstrings(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]


# --- how long and where ---------------------------------------------------------------------------------------------


@given(st.floats(20.0, 120.0), st.floats(0.0, 0.5))
def test_the_sheet_is_as_long_as_its_own_middle(bore_mm: float, paper_mm: float) -> None:
    made = wrap_drawing(Wrap(Bore(bore_mm, (), 0.5, 50.0), paper_mm))
    edge = outline(made, "outer edge")
    xs = [x for x, _ in edge.points]
    # a ring of inner diameter B - 2t and outer diameter B has its middle at B - t
    assert max(xs) - min(xs) == pytest.approx(math.pi * ((bore_mm - 2 * paper_mm) + bore_mm) / 2, rel=1e-12)


def test_round_a_sleeve_the_sheet_is_longer() -> None:
    made = wrap_drawing(Wrap(KART_BORE, 0.1, sleeve_mm=60.0, mirrored=True))
    xs = [x for x, _ in outline(made, "outer edge").points]
    assert max(xs) - min(xs) == pytest.approx(math.pi * 60.1, rel=1e-12)


@pytest.mark.parametrize("bore", [KART_BORE, CROWDED_BORE], ids=["kart", "crowded"])
def test_a_port_covers_the_same_angle_as_in_the_bore(bore: Bore) -> None:
    made = wrap_drawing(Wrap(bore, 0.2))
    around = math.pi * (bore.bore_mm - 0.2)
    for port in bore.ports:
        if port.bridge_mm:
            continue
        found = [bounds([one]) for one in groups(made, f"{port.name}, as it is")]
        for box in found:
            assert box.width / around == pytest.approx(port.width_arc_mm / (math.pi * bore.bore_mm), rel=1e-9)
            assert (box.bottom, box.top) == pytest.approx((-port.floor_depth_mm, -port.roof_depth_mm))
        middles = sorted(0.5 * (box.left + box.right) / around * 360.0 + seam(bore) for box in found)
        clocks = sorted((one.clock_deg - seam(bore)) % 360.0 + seam(bore) for one in port.placed())
        assert middles == pytest.approx(clocks, abs=1e-6)


def test_mirrored_is_the_same_the_other_way_round() -> None:
    straight, mirror = (wrap_drawing(Wrap(PLANNED, mirrored=way)) for way in (False, True))
    around = math.pi * (KART_BORE.bore_mm - 0.1)
    one, other = (bounds(groups(each, "exhaust, target")) for each in (straight, mirror))
    assert one.left == pytest.approx(around - other.right, abs=1e-9)
    assert (one.bottom, one.top) == pytest.approx((other.bottom, other.top))
    assert any("Printed face inwards" in words for words in lettering(straight))
    assert any("printed face against the wall" in words for words in lettering(mirror))


def lettering(drawing: Drawing) -> list[str]:
    return [shape.words for one in drawing.groups for shape in one.shapes if isinstance(shape, Text)]


def test_the_seam_cuts_no_port() -> None:
    made = wrap_drawing(Wrap(PLANNED))
    around = math.pi * (KART_BORE.bore_mm - 0.1)
    for one in groups(made, ""):
        if one.about.endswith(("as it is", "target", "stop line")):
            box = bounds([one])
            assert box.left > 1.0
            assert box.right < around - 1.0


@pytest.mark.parametrize(("bore", "datum"), [(KART_BORE, "deck"), (CROWDED_BORE, "deck"), (KART_BORE, "crown")])
def test_what_is_cut_out_keeps_its_scales(bore: Bore, datum: Literal["deck", "crown"]) -> None:
    """Ticks and numbers stand on both sides of the edge that is cut, the inner numbers clear of every port."""
    made = wrap_drawing(Wrap(bore, datum=datum, degrees=tuple((d, 0.35 * d) for d in range(60, 140))))
    edge = bounds(groups(made, "outer edge"))
    ports = [bounds([one]) for one in made.groups if one.about.endswith(("as it is", "target", "stop line"))]
    for about in ["millimetres from the datum"] + (["crank degrees"] if datum == "crown" else []):
        (scale,) = groups(made, about)
        ticks = [one.points for one in scale.shapes if isinstance(one, Polyline)]
        inner = [[x for x, _ in tick if edge.left < x < edge.right] for tick in ticks]
        assert sum(map(bool, inner)) > 0.4 * len(ticks)
        numbers = [text_box(one) for one in scale.shapes if isinstance(one, Text)]
        kept = [box for box in numbers if box.left > edge.left and box.right < edge.right]
        assert kept
        assert not any(box.overlaps(port) for box in kept for port in ports)


# --- today, stop, target --------------------------------------------------------------------------------------------


def test_what_is_cut_has_three_outlines_and_what_is_not_has_one() -> None:
    made = wrap_drawing(Wrap(PLANNED))
    assert len(groups(made, "exhaust, ")) == 3
    assert [one.role for one in groups(made, "exhaust, ")] == ["today", "stop", "target"]
    assert [one.role for one in groups(made, "intake, ")] == ["today"]


def test_windows_are_cut_out_of_the_paper_along_the_target() -> None:
    made = wrap_drawing(Wrap(PLANNED, windows=True))
    roles = [one.role for one in groups(made, "exhaust, ")]
    assert "cut" in roles
    assert "target" not in roles
    assert groups(made, "intake, cut out")


def test_a_new_port_has_a_target_and_no_today() -> None:
    new = PortOutline("side", "exhaust", 45.0, 30.0, 38.0, 6.0, mirrored=True)
    made = wrap_drawing(Wrap(replace(PLANNED, planned=(*PLANNED.planned, new))))
    assert [one.role for one in groups(made, "side, ")] == ["target", "target"]
    assert "(new)" in " ".join(lettering(made))


@settings(deadline=None)
@given(st.floats(0.0, 3.0), st.floats(0.0, 3.0), st.floats(0.0, 4.0), st.floats(0.05, 1.0), st.floats(0.0, 6.0))
def test_the_stop_line_lies_between(roof: float, floor: float, wider: float, short: float, radius: float) -> None:
    today = PortOutline("p", "exhaust", 0.0, 29.0, 50.0, 33.0, radius, radius)
    target = replace(today, roof_depth_mm=29.0 - roof, floor_depth_mm=50.0 + floor, width_arc_mm=33.0 + wider)
    stop = stop_outline(today, target, short)
    if max(roof, floor, wider) < 1e-5:  # no cut that a tool could make
        return
    assert stop is not None
    for cut, left in (
        (roof, stop.roof_depth_mm - target.roof_depth_mm),
        (floor, target.floor_depth_mm - stop.floor_depth_mm),
        (wider, target.width_arc_mm - stop.width_arc_mm),
    ):
        assert left == pytest.approx(min(short, 0.5 * cut), abs=1e-9)


def test_where_nothing_is_cut_there_is_no_stop_line() -> None:
    port = PortOutline("p", "exhaust", 0.0, 29.0, 50.0, 33.0, 7.0, 6.0)
    assert stop_outline(port, port) is None
    squared = stop_outline(port, replace(port, floor_corner_radius_mm=3.0))
    assert squared is not None
    assert 3.0 < squared.floor_corner_radius_mm < 6.0


def test_the_stop_of_a_free_outline_is_the_target_shrunk() -> None:
    square = ((-10.0, 30.0), (10.0, 30.0), (10.0, 45.0), (-10.0, 45.0))
    taller = ((-10.0, 28.0), (10.0, 28.0), (10.0, 45.0), (-10.0, 45.0))
    today = PortOutline("p", "transfer", 90.0, 30.0, 45.0, 20.0, outline_mm=square)
    stop = stop_outline(today, replace(today, roof_depth_mm=28.0, outline_mm=taller), 0.3)
    assert stop is not None
    assert min(y for _, y in stop.outline_mm) == pytest.approx(28.3)
    assert max(y for _, y in stop.outline_mm) == pytest.approx(45.0)  # not cut: nothing to stop short of
    assert stop_outline(today, today) is None
    assert stop_outline(today, replace(today, outline_mm=())) is None


# --- from the crown -------------------------------------------------------------------------------------------------


def test_from_the_crown_the_wrap_stands_on_the_piston() -> None:
    made = wrap_drawing(Wrap(PLANNED, datum="crown"))
    edge = bounds(groups(made, "outer edge"))
    assert edge.bottom == pytest.approx(-KART_BORE.crown_at_bdc_mm)
    assert not groups(made, "intake")
    roof = KART_BORE.crown_at_bdc_mm - 29.1, KART_BORE.crown_at_bdc_mm - 28.1
    assert f"roof {roof[0]:.2f} to {roof[1]:.2f}" in " ".join(lettering(made))


def test_crank_degrees_stand_where_the_crown_is_then() -> None:
    degrees = ((90.0, 30.0), (100.0, 35.0), (110.0, 39.9))
    made = wrap_drawing(Wrap(KART_BORE, datum="crown", degrees=degrees))
    (scale,) = groups(made, "crank degrees")
    ticks = sorted(shape.points[0][1] for shape in scale.shapes if isinstance(shape, Polyline))
    assert ticks == pytest.approx([-39.9, -35.0, -30.0])
    words = {shape.words: shape.at[1] for shape in scale.shapes if isinstance(shape, Text)}
    assert set(words) == {"90°", "100°", "110°"}


def test_without_a_port_above_the_crown_there_is_no_crown_wrap() -> None:
    with pytest.raises(SheetError, match="use the wrap from the deck"):
        wrap_drawing(Wrap(replace(KART_BORE, ports=KART_BORE.ports[-1:]), datum="crown"))


@pytest.mark.parametrize(("paper", "sleeve"), [(1.1, None), (-0.1, None), (0.1, 49.0)])
def test_a_sheet_or_a_sleeve_that_cannot_be_is_refused(paper: float, sleeve: float | None) -> None:
    with pytest.raises(SheetError, match="what to do"):
        Wrap(KART_BORE, paper, sleeve)


# --- lettering --------------------------------------------------------------------------------------------------------

EVERY = {
    "kart": Wrap(PLANNED),
    "windows": Wrap(PLANNED, windows=True),
    "crown": Wrap(PLANNED, datum="crown"),
    "mirrored": Wrap(PLANNED, mirrored=True),
    "crowded": Wrap(CROWDED_BORE),
    "crowded crown": Wrap(CROWDED_BORE, datum="crown"),
}


@pytest.mark.parametrize("name", EVERY)
def test_no_words_lie_on_other_words(name: str) -> None:
    made = wrap_drawing(EVERY[name])
    texts = [shape for one in made.groups for shape in one.shapes if isinstance(shape, Text)]
    boxes = [text_box(text) for text in texts]
    lying = [
        (texts[i].words, texts[j].words)
        for i in range(len(boxes))
        for j in range(i + 1, len(boxes))
        if boxes[i].overlaps(boxes[j])
    ]
    assert lying == []


@pytest.mark.parametrize("name", EVERY)
def test_no_words_about_a_port_lie_across_the_edge_of_one(name: str) -> None:
    made = wrap_drawing(EVERY[name])
    ports = [bounds([one]) for one in made.groups if one.about.endswith(("as it is", "target"))]
    about = [one for one in made.groups if one.role == "note" and " at " in one.about and one.about.endswith("°")]
    assert about
    for one in about:
        box = bounds([one])
        for port in ports:
            inside = port.left < box.left < box.right < port.right and port.bottom < box.bottom < box.top < port.top
            assert inside or not box.overlaps(port), one.about


# --- printed and cut --------------------------------------------------------------------------------------------------


def test_printed_port_edges_are_true(tmp_path: Path) -> None:
    # The stop line keeps half a millimetre away from each edge, so that neither blurs the other's middle.
    (made,) = pages(Sheet(wrap_drawing(Wrap(PLANNED, stop_mm=1.0)), "deck"), ISSUE, PAPERS["A4"])
    (printed,) = on_paper(write_pdf([made]), tmp_path)
    around = math.pi * (50.02 - 0.1)
    x, y = made.shift
    middle = x + (0.0 - seam(PLANNED)) % 360.0 / 360.0 * around
    deck = printed.level_line(y, middle + 12.0, middle + 18.0)
    target = printed.level_line(y - 28.1, middle - 9.0, middle - 7.2, within=0.35)
    assert deck - target == pytest.approx(28.1, abs=TRUE_MM)
    half = 0.5 * 38.0 * (50.02 - 0.1) / 50.02
    left = printed.upright_line(middle - half, y - 40.0, y - 37.0, within=0.35)
    right = printed.upright_line(middle + half, y - 40.0, y - 37.0, within=0.35)
    assert right - left == pytest.approx(2 * half, abs=TRUE_MM)
    ends = [printed.upright_line(place, y - 20.0, y - 15.0, within=0.5) for place in (x, x + around)]
    assert ends[1] - ends[0] == pytest.approx(around, abs=TRUE_MM)


def test_port_outlines_in_the_dxf_are_closed_and_exact() -> None:
    document = ezdxf.read(io.StringIO(write_dxf(Sheet(wrap_drawing(Wrap(PLANNED)), "deck"), ISSUE)))
    (target,) = document.modelspace().query('LWPOLYLINE[layer=="TARGET"]')
    assert target.closed
    width, height = 38.0 * (50.02 - 0.1) / 50.02, 50.5 - 28.1
    length = 0.0
    points = list(target.get_points("xyb"))
    for (x0, y0, bulged), (x1, y1, _) in zip(points, points[1:] + points[:1], strict=True):
        if bulged:
            _, start, end, radius = bulge_to_arc((x0, y0), (x1, y1), bulged)
            length += radius * ((end - start) % math.tau)
        else:
            length += math.dist((x0, y0), (x1, y1))
    # four quarter circles in place of the corners: radii 7 at the roof and 6 at the floor
    assert length == pytest.approx(2 * (width + height) - 4 * (7 + 6) + math.pi * (7 + 6), abs=1e-6)
    today = document.modelspace().query('LWPOLYLINE[layer=="TODAY"]')
    assert len([one for one in today if one.closed]) == 6
    assert {"TODAY", "STOP", "TARGET", "CUT", "CENTRE", "OUTLINE", "CHECK"} <= {
        entity.dxf.layer for entity in document.modelspace()
    }


# --- moving -----------------------------------------------------------------------------------------------------------


def test_everything_is_moved_mirrored_and_scaled_alike() -> None:
    one = group("outline", rounded_rectangle(0, 0, 10, 6, (2, 0, 0, 1)), Circle((3, 3), 1.0),
                Dimension((0, 0), (10, 0), "10", 4.0), Text((1, 2), "a", 2.0, "start", 30.0))  # fmt: skip
    (there,) = moved((one,), (5.0, 7.0), scale=2.0, mirrored=True)
    (back,) = moved((there,), (5.0 / 2.0, -7.0 / 2.0), scale=0.5, mirrored=True)
    for before, after in zip(one.shapes, back.shapes, strict=True):
        if isinstance(before, Polyline) and isinstance(after, Polyline):
            assert [value for point in after.points for value in point] == pytest.approx(
                [value for point in before.points for value in point]
            )
            assert after.bulges == pytest.approx(before.bulges)
        else:
            assert after == before
    box, turned = bounds([group("outline", one.shapes[0])]), bounds([group("outline", there.shapes[0])])
    assert (turned.left, turned.right) == pytest.approx((5.0 - 2 * box.right, 5.0 - 2 * box.left))


def test_a_mirrored_arc_bends_the_other_way() -> None:
    quarter = arc((0.0, 0.0), 10.0, 0.0, 90.0)
    (there,) = moved((group("outline", quarter),), mirrored=True)
    for x, y in flattened(there.shapes[0]):  # type: ignore[arg-type]
        assert math.hypot(x, y) == pytest.approx(10.0)
        assert x <= 1e-9


def test_stretched_much_a_round_corner_becomes_an_ellipse() -> None:
    loop = stretched(Polyline(((2.0, 0.0), (-2.0, 0.0)), (1.0, 1.0), closed=True), 1.5, 0.0)
    for x, y in loop.points:
        assert (x / 3.0) ** 2 + (y / 2.0) ** 2 == pytest.approx(1.0)
