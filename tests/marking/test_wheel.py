"""The degree wheel: degrees run against the crank, bands where the ports open, a hole for the bolt."""

import doctest
import math
from dataclasses import replace

import pytest

from scribeline.errors import SheetError
from scribeline.marking import wheel
from scribeline.marking.dial_view import Window
from scribeline.marking.drafting import bounds, edge_circle
from scribeline.marking.shapes import Circle, Drawing, Group, Polyline, Text
from scribeline.marking.wheel import Wheel, wheel_drawing

WINDOWS = (
    Window("exhaust", "exhaust", 90.0, 270.0),
    Window("transfer", "transfer", 112.0, 248.0),
    Window("intake", "intake", 285.0, 75.0),
)


def about(drawing: Drawing, words: str) -> Group:
    (found,) = [one for one in drawing.groups if one.about.startswith(words)]
    return found


def angle(x: float, y: float) -> float:
    return round(math.degrees(math.atan2(y, x)), 9) % 360.0


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(wheel).failed == 0


@pytest.mark.parametrize("diameter", [90.0, 120.0, 200.0])
@pytest.mark.parametrize("hole", [6.0, 10.0, 14.0])
def test_rim_and_hole_have_their_sizes(diameter: float, hole: float) -> None:
    made = wheel_drawing(Wheel(diameter, hole))
    rim, bolt = about(made, "rim").shapes[0], about(made, "hole").shapes[0]
    assert isinstance(rim, Circle)
    assert isinstance(bolt, Circle)
    assert (2 * rim.radius_mm, 2 * bolt.radius_mm) == (diameter, hole)
    assert (rim.centre, bolt.centre) == ((0, 0), (0, 0))
    smaller = [2 * shape.radius_mm for shape in about(made, "smaller").shapes if isinstance(shape, Circle)]
    assert all(0 < one < hole for one in smaller)


@pytest.mark.parametrize(("turns", "way"), [("clockwise", 1.0), ("anticlockwise", -1.0)])
def test_a_tick_to_a_degree_and_numbers_that_rise_against_the_crank(turns: str, way: float) -> None:
    made = wheel_drawing(Wheel(160.0, turns=turns))  # type: ignore[arg-type]
    ticks = [shape for shape in about(made, "degrees").shapes if isinstance(shape, Polyline)]
    assert sorted(round(angle(*tick.points[0])) % 360 for tick in ticks) == list(range(360))
    numbers = {
        shape.words: shape
        for one in made.groups
        if one.role == "scale"
        for shape in one.shapes
        if isinstance(shape, Text)
    }
    assert set(numbers) == {str(deg) for deg in range(0, 360, 10)}
    for words, text in numbers.items():
        assert angle(*text.at) == pytest.approx((90.0 + way * float(words)) % 360.0, abs=1e-6)


@pytest.mark.parametrize("turns", ["clockwise", "anticlockwise"])
def test_a_band_reaches_from_opening_to_closing(turns: str) -> None:
    made = Wheel(160.0, 10.0, WINDOWS, turns=turns)  # type: ignore[arg-type]
    drawing = wheel_drawing(made)
    for window in WINDOWS:
        band = about(drawing, f"{window.name}, as it is").shapes[0]
        assert isinstance(band, Polyline)
        start, end, bulged = band.edges()[0]
        assert angle(*start) == pytest.approx(made.paper_deg(window.opens_deg_atdc) % 360.0)
        assert angle(*end) == pytest.approx(made.paper_deg(window.closes_deg_atdc) % 360.0)
        assert abs(edge_circle(start, end, bulged)[3]) == pytest.approx(window.duration_deg)


def test_targets_are_lines_where_the_timing_changes_and_nowhere_else() -> None:
    later = (replace(WINDOWS[0], opens_deg_atdc=88.0, closes_deg_atdc=272.0), *WINDOWS[1:])
    made = Wheel(160.0, 10.0, WINDOWS, later)
    drawing = wheel_drawing(made)
    targets = [one for one in drawing.groups if one.role == "target"]
    (lines,) = [one.shapes for one in targets]
    assert sorted(angle(*shape.points[0]) for shape in lines) == pytest.approx([2.0, 178.0])  # type: ignore[union-attr]
    words = {shape.words for one in drawing.groups for shape in one.shapes if isinstance(shape, Text)}
    assert {"90.0° to 88.0°", "270.0° to 272.0°", "112.0°", "285.0°"} <= words


def test_everything_stays_on_the_wheel() -> None:
    box = bounds(wheel_drawing(Wheel(120.0, 14.0, WINDOWS, WINDOWS, 18.0, engine="Engine")).groups)
    assert max(-box.left, box.right, -box.bottom, box.top) <= 60.0 + 1e-9


@pytest.mark.parametrize(("diameter", "hole"), [(50.0, 10.0), (500.0, 10.0), (100.0, 40.0), (100.0, 0.0)])
def test_sizes_that_make_no_wheel_are_refused(diameter: float, hole: float) -> None:
    with pytest.raises(SheetError, match="accepted"):
        Wheel(diameter, hole)
