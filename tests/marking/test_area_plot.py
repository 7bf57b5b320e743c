"""The written plot, its curves read back as degrees and areas."""

import doctest
import math
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.errors import SheetError
from scribeline.marking import area_plot as module
from scribeline.marking.area_plot import HEIGHT_MM, WIDTH_MM, AreaCurve, AreaPlot, area_plot, first_deg, tick_step
from scribeline.marking.shapes import PENS
from scribeline.marking.svg import write_svg
from tests.marking.demonstrations import CROWDED_AREAS, KART_AREAS
from tests.marking.svg_reading import Picture


def picture(plot: AreaPlot) -> Picture:
    return Picture(write_svg(area_plot(plot)))


KART = picture(KART_AREAS)
FIRST_DEG, TOP_MM2 = 80.0, 800.0


def read_back(group: ElementTree.Element) -> list[tuple[float, float]]:
    """Crank degrees and areas along a curve, also half-way along its straight pieces."""
    return [
        (x / WIDTH_MM * 360.0 + FIRST_DEG, -y / HEIGHT_MM * TOP_MM2)
        for stroke in KART.strokes(group)
        for edge in stroke.edges
        for (x, y) in [edge.start, (0.5 * (edge.start[0] + edge.end[0]), 0.5 * (edge.start[1] + edge.end[1])), edge.end]
    ]


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize("curve", KART_AREAS.curves, ids=lambda curve: curve.name)
def test_a_curve_is_where_its_numbers_are(curve: AreaCurve) -> None:
    drawn = read_back(KART.group_about(f"{curve.name}: opens"))
    opens = curve.opens_deg_atdc
    duration = (curve.closes_deg_atdc - opens) % 360.0
    assert drawn[0] == pytest.approx((opens, 0.0), abs=0.1)
    assert drawn[-1] == pytest.approx((opens + duration, 0.0), abs=0.1)
    highest = max(curve.area_mm2)
    for deg, area in drawn:
        assert area == pytest.approx(highest * math.sin(math.pi * (deg - opens) / duration), abs=1.0)
    assert max(area for _, area in drawn) == pytest.approx(highest, abs=0.5)


def test_no_curve_is_cut_in_two_where_it_need_not_be() -> None:
    assert first_deg(KART_AREAS.curves) == FIRST_DEG
    for curve in KART_AREAS.curves:
        assert len(KART.strokes(KART.group_about(f"{curve.name}: opens"))) == 1


def test_a_curve_that_has_to_be_cut_is_drawn_in_two_pieces() -> None:
    read = picture(CROWDED_AREAS)
    assert first_deg(CROWDED_AREAS.curves) == 0.0
    strokes = read.strokes(read.group_about("rotary disc: opens"))
    assert len(strokes) == 2
    boxes = sorted(stroke.box for stroke in strokes)
    assert boxes[0][0] == 0.0
    assert boxes[0][2] == pytest.approx(95.0 / 360.0 * WIDTH_MM, abs=0.01)
    assert boxes[1][0] == pytest.approx(215.0 / 360.0 * WIDTH_MM, abs=0.01)


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(0.0, 359.9), st.floats(1.0, 300.0)), min_size=1, max_size=4))
def test_the_plot_begins_where_all_is_shut(windows: list[tuple[float, float]]) -> None:
    curves = [AreaCurve("", "exhaust", (), (), opens, (opens + lasts) % 360.0) for opens, lasts in windows]
    shut = [
        float(deg)
        for deg in range(0, 360, 10)
        if all((deg - opens) % 360.0 >= lasts - 1e-9 for opens, lasts in windows)
    ]
    assert first_deg(curves) == (shut[0] if shut else 0.0)


@settings(deadline=None)
@given(st.floats(0.01, 1e6))
def test_the_area_scale_has_three_to_seven_round_steps(highest: float) -> None:
    step = tick_step(highest)
    assert f"{step:e}"[0] in "125"
    assert 3 <= math.ceil(highest / step - 1e-9) <= 7


def test_axes_carry_their_numbers_and_units() -> None:
    words = KART.words
    assert {"0", "200", "400", "600", "800", "open area, mm²", "TDC", "BDC"} <= set(words)
    assert "crank angle, degrees after top dead centre (TDC)" in words
    assert [words.count(str(deg)) for deg in (90, 180, 300, 30, 60)] == [1] * 5
    bdc = next(one for one in KART.lettering if one.words == "BDC")
    assert bdc.x == pytest.approx((180.0 - FIRST_DEG) / 360.0 * WIDTH_MM, abs=0.001)


def test_every_opening_and_closing_has_an_upright_line_and_its_angle() -> None:
    uprights = [
        edge.start[0]
        for one in KART.groups("note")
        for stroke in KART.strokes(one)
        for edge in stroke.edges[:1]
        if edge.start[0] == edge.end[0] and edge.start[1] == 0.0 and edge.end[1] < -HEIGHT_MM
    ]
    angles = [deg for curve in KART_AREAS.curves for deg in (curve.opens_deg_atdc, curve.closes_deg_atdc)]
    expected = sorted((deg - FIRST_DEG) % 360.0 / 360.0 * WIDTH_MM for deg in angles)
    assert sorted(uprights) == pytest.approx(expected, abs=0.001)
    assert {f"{deg:.1f}°" for deg in angles} <= set(KART.words)


def test_curves_can_be_told_apart_without_colour() -> None:
    """Different dashes, and each name underlined in the dashes of its curve."""
    roles = ("exhaust curve", "transfer curve", "intake curve")
    assert len({PENS[role].dashes_mm for role in roles}) == 3  # type: ignore[index]
    rules = write_svg(area_plot(KART_AREAS))
    dashes = {role: re.findall(rf"\.{role.replace(' ', '-')}{{[^}}]*?(dasharray:[^}}]*)?}}", rules) for role in roles}
    assert len({tuple(found) for found in dashes.values()}) == 3
    for curve in KART_AREAS.curves:
        (name,) = [one for one in KART.lettering if one.words == curve.name and one.size > 3.0]
        _, underline = KART.groups(f"{curve.kind}-curve")
        (stroke,) = KART.strokes(underline)
        assert stroke.box[1] == stroke.box[3]
        assert 0.0 < stroke.box[1] - name.y < 2.5


@pytest.mark.parametrize("plot", [KART_AREAS, CROWDED_AREAS], ids=["kart", "crowded"])
def test_no_name_lies_on_a_curve(plot: AreaPlot) -> None:
    read = picture(plot)
    curves = [np.array(stroke.samples) for kind in ("exhaust", "transfer", "intake")
              for stroke in read.strokes(read.groups(f"{kind}-curve")[0])]  # fmt: skip
    for curve in plot.curves:
        underline = next(read.strokes(one)[0].box for one in read.groups(f"{curve.kind}-curve")[1:])
        left, bottom, right = underline[0], underline[1], underline[2]
        for points in curves:
            xs = np.linspace(points[0, 0], points[-1, 0], 4000)
            ys = np.interp(xs, points[:, 0], points[:, 1])
            assert not np.any((xs > left) & (xs < right) & (ys < bottom) & (ys > bottom - 4.0))


def test_a_curve_that_never_opens_is_left_out() -> None:
    shut = replace(KART_AREAS.curves[2], area_mm2=[0.0] * len(KART_AREAS.curves[2].theta_deg))
    assert "intake" not in picture(AreaPlot((KART_AREAS.curves[0], shut))).words


@pytest.mark.parametrize("curves", [(), (replace(KART_AREAS.curves[0], area_mm2=[0.0] * 720),)])
def test_nothing_to_plot_is_refused(curves: tuple[AreaCurve, ...]) -> None:
    with pytest.raises(SheetError, match="nothing to plot"):
        area_plot(AreaPlot(curves))


def test_the_words_for_those_who_cannot_see_it_give_angles_and_areas() -> None:
    description = area_plot(KART_AREAS).description
    assert "exhaust: opens 89.0° and closes 271.4° after top dead centre, largest open area 660 mm²" in description
