"""Panels over a common scale: where a value comes to lie, gaps, marks, names."""

import math

import pytest

from scribeline.errors import SheetError
from scribeline.marking.curve_plot import WIDTH_MM, CurvePlot, Line, Mark, Panel, curve_plot
from scribeline.marking.drafting import texts
from scribeline.marking.shapes import Drawing, Polyline, Role
from scribeline.marking.svg import write_svg

RPM = (4000.0, 6000.0, 8000.0, 10000.0, 12000.0)
POWER = (2.0, 5.0, 9.0, 8.0, 4.0)


def plot(*panels: Panel, missing: tuple[float, ...] = (), marks: tuple[Mark, ...] = ()) -> Drawing:
    return curve_plot(CurvePlot("p", "P", "d", "rev/min", 4e3, 12e3, 1e3, panels, marks, missing))


def lines(drawing: Drawing, role: Role) -> list[Polyline]:
    return [s for g in drawing.groups if g.role == role for s in g.shapes if isinstance(s, Polyline)]


def test_values_stand_in_proportion_on_both_scales():
    (drawn,) = lines(plot(Panel("power", (Line("kart", "target", RPM, POWER),), 30.0)), "target")
    assert [x for x, _ in drawn.points] == pytest.approx([i * WIDTH_MM / 4 for i in range(5)])
    assert [y for _, y in drawn.points] == pytest.approx([30.0 * v / 10.0 for v in POWER])  # the scale ends at 10


def test_the_first_panel_stands_on_top():
    one, two = (Panel(name, (Line("kart", role, RPM, POWER),)) for name, role in (("a", "target"), ("b", "today")))
    drawing = plot(one, two)
    lowest = {role: min(y for s in lines(drawing, role) for _, y in s.points) for role in ("target", "today")}
    assert lowest["target"] > max(y for s in lines(drawing, "today") for _, y in s.points)
    assert lowest["today"] > 0.0


def test_a_missing_value_breaks_the_line_and_is_crossed():
    gap = (2.0, 5.0, math.nan, 8.0, 4.0)
    drawing = plot(Panel("power", (Line("kart", "target", RPM, gap),)), missing=(8000.0,))
    assert [len(one.points) for one in lines(drawing, "target")] == [2, 2]
    crosses = lines(drawing, "measured")
    assert len(crosses) == 2
    for cross in crosses:
        (x0, y0), (x1, y1) = cross.points
        assert (0.5 * (x0 + x1), 0.5 * (y0 + y1)) == pytest.approx((WIDTH_MM / 2, 0.0))
    assert any("no result" in one.words for one in texts(drawing))


def test_values_beyond_a_given_end_are_cut_off_at_it():
    (drawn,) = lines(plot(Panel("p", (Line("kart", "target", RPM, POWER),), 20.0, high=5.0)), "target")
    assert max(y for _, y in drawn.points) == pytest.approx(20.0)


def test_lines_carry_their_names_and_differ_without_colour():
    two = (Line("this", "target", RPM, POWER), Line("that", "today", RPM, tuple(0.5 * v for v in POWER)))
    drawing = plot(Panel("power", two))
    names = {one.words: one.at for one in texts(drawing) if one.words in ("this", "that")}
    assert names["this"][0] > WIDTH_MM
    assert names["this"][1] > names["that"][1]
    assert "stroke-dasharray" in next(
        rule for rule in write_svg(drawing).splitlines() if rule.startswith(".drawing .today")
    )


def test_marks_go_through_every_panel():
    panels = [Panel(name, (Line("k", "outline", RPM, POWER),), 20.0) for name in "ab"]
    drawing = plot(*panels, marks=(Mark(6000.0, "exhaust opens"),))
    (upright,) = [one for one in lines(drawing, "centre") if one.points[0][0] == one.points[1][0]]
    assert upright.points[0] == pytest.approx((WIDTH_MM / 4, 0.0))
    assert upright.points[1][1] > 40.0


def test_an_empty_plot_is_refused():
    with pytest.raises(SheetError, match="no value to plot"):
        plot(Panel("power", (Line("kart", "target", RPM, (math.nan,) * 5),)))
