"""Runs drawn: nothing is lost, nothing is only told by colour, and what cannot be drawn is refused."""

import doctest
import math

import pytest

from scribeline.errors import SheetError
from scribeline.marking import trial_plot
from scribeline.marking.drafting import text_box
from scribeline.marking.shapes import Circle, Polyline, Text
from scribeline.marking.svg import write_svg
from scribeline.marking.trial_plot import (
    WIDTH_MM,
    Bundle,
    BundlePlot,
    DifferenceRow,
    DotPlot,
    DotRow,
    bundle_plot,
    dot_plot,
)

ROWS = (
    DotRow("as bought", (8.42, 8.51, 8.38, 8.47, 8.47), 8.45, 0.06),
    DotRow("squish set", (8.21, 8.29, 8.17, 8.33), 8.25, 0.11, dropped=(8.4, 12.0)),
)
DIFFERENCES = (DifferenceRow("squish set less as bought", -0.2, -0.31, -0.09, True),)


def dots(rows: tuple[DotRow, ...] = ROWS, differences: tuple[DifferenceRow, ...] = DIFFERENCES) -> DotPlot:
    return DotPlot("verdict", "A gate", "In words.", "time, s", "difference, s", rows, differences)


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(trial_plot)
    assert (results.attempted >= 2, results.failed) == (True, 0)


def test_every_run_is_a_dot_at_its_place_and_no_two_lie_on_each_other() -> None:
    drawing = dot_plot(dots())
    circles = [s for g in drawing.groups for s in g.shapes if isinstance(s, Circle) and s.radius_mm < 1.0]
    assert len(circles) == 9
    for i, one in enumerate(circles):
        for other in circles[i + 1 :]:
            assert math.dist(one.centre, other.centre) > 1.4
    # 8.17 to 8.51 lie on one scale: distances on paper are proportional to differences in time.
    places = sorted({round(c.centre[0], 6) for c in circles})
    values = sorted({v for row in ROWS for v in row.values})
    per_second = (places[-1] - places[0]) / (values[-1] - values[0])
    for place, value in zip(places, values, strict=True):
        assert place - places[0] == pytest.approx(per_second * (value - values[0]), abs=1e-4)


def test_dropped_runs_are_crossed_and_one_far_away_does_not_squeeze_the_rest() -> None:
    drawing = dot_plot(dots())
    (crossed,) = [g for g in drawing.groups if g.about == "squish set: 2 dropped"]
    assert len(crossed.shapes) == 4
    words = [s.words for g in drawing.groups for s in g.shapes if isinstance(s, Text)]
    assert "dropped: 12" in words
    assert not any(word.startswith("dropped: 8") for word in words)


def test_no_lettering_lies_on_other_lettering() -> None:
    for drawing in (dot_plot(dots()), bundle_plot(bundles())):
        boxes = [(text_box(s), s.words) for g in drawing.groups for s in g.shapes if isinstance(s, Text)]
        for i, (box, words) in enumerate(boxes):
            assert [other for there, other in boxes[i + 1 :] if box.overlaps(there)] == [], words


def test_a_shown_difference_is_filled_and_another_is_open() -> None:
    open_one = DifferenceRow("jet less as bought", 0.05, -0.2, 0.3, False)
    drawing = dot_plot(dots(differences=(*DIFFERENCES, open_one)))
    fills = [g.fill for g in drawing.groups for s in g.shapes if isinstance(s, Circle) and s.radius_mm == 1.0]
    assert fills == ["accent", "paper"]
    assert "squish set less as bought: -0.2, -0.31 to -0.09" in [g.about for g in drawing.groups]


def test_an_interval_without_end_is_cut_off_and_says_so() -> None:
    wide = (DotRow("a", (8.0, 8.1), 8.05, 0.9), DotRow("b", (8.0, 8.2, 8.1), 8.1, math.nan))
    drawing = dot_plot(dots(wide, ()))
    words = [s.words for g in drawing.groups for s in g.shapes if isinstance(s, Text)]
    assert "wider than drawn" in words
    points = [p for g in drawing.groups for s in g.shapes if isinstance(s, Polyline) for p in s.points]
    assert max(x for x, _ in points) <= WIDTH_MM + 1.0


def bundles() -> BundlePlot:
    x = [4000.0, 6000.0, 8000.0]
    one = Bundle(
        "as bought",
        ((x, [3.0, 6.0, 5.0]), (x, [3.2, 6.1, math.nan])),
        (x, [3.1, 6.05, 5.0]),
        (x, [3, 6, 4], [3.2, 6.1, 6]),
    )
    other = Bundle("squish set", ((x, [3.3, 6.4, 6.0]),))
    return BundlePlot("power", "Power", "In words.", "rpm", "power, kW", (one, other), from_zero=True)


def test_lines_bands_and_keys_are_there_and_a_missing_value_breaks_its_line() -> None:
    drawing = bundle_plot(bundles())
    said = [g.about for g in drawing.groups if g.about]
    assert {"as bought: each run", "as bought: mean", "squish set: each run"} <= set(said)
    assert "as bought: band of about 95 %" in said
    (runs,) = [g for g in drawing.groups if g.about == "as bought: each run"]
    assert [len(s.points) for s in runs.shapes if isinstance(s, Polyline)] == [3, 2]
    roles = {g.role for g in drawing.groups if g.about.endswith(": each run")}
    assert roles == {"today", "measured"}  # dashed ink and a full line of the accent
    assert write_svg(drawing).startswith("<svg")


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(SheetError, match="no run to draw"):
        dot_plot(dots((DotRow("a", (), math.nan, math.nan),), ()))
    with pytest.raises(SheetError, match="no line to draw"):
        bundle_plot(BundlePlot("x", "X", "", "s", "m", (Bundle("a"),)))
