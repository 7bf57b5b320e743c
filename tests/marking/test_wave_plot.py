"""The wave diagram: contours against closed forms, tints, the pipe in outline."""

import math

import pytest

from scribeline.errors import SheetError
from scribeline.marking.curve_plot import Mark
from scribeline.marking.drafting import texts
from scribeline.marking.shapes import Drawing, Polyline
from scribeline.marking.svg import write_svg
from scribeline.marking.wave_plot import HEIGHT_MM, WIDTH_MM, WavePlot, _contours, wave_plot

X = tuple(10.0 * i for i in range(101))
DEG = tuple(90.0 + 3.0 * j for j in range(121))
BORE = tuple(30.0 + 0.05 * x for x in X)


def waves(pressure, marks: tuple[Mark, ...] = ()) -> Drawing:
    bar = tuple(tuple(pressure(x / 1000.0, (deg - 90.0) / 360.0) for x in X) for deg in DEG)
    return wave_plot(WavePlot(X, BORE, DEG, bar, marks, 0.02))


def contour(drawing: Drawing, level: str) -> list[Polyline]:
    return [s for g in drawing.groups if g.about.startswith(f"pressure {level} bar") for s in g.shapes]  # type: ignore[misc]


def test_a_pressure_that_rises_along_the_pipe_has_upright_contours_where_it_should():
    drawing = waves(lambda x, t: 0.8 * x - 0.4)
    for level in (-0.3, -0.1, 0.1, 0.3):
        (one,) = contour(drawing, f"{level:+.1f}")
        assert {round(x, 6) for x, _ in one.points} == {round((level + 0.4) / 0.8 * WIDTH_MM, 6)}
        assert sorted(y for _, y in one.points) == pytest.approx([0.0, HEIGHT_MM])


def test_a_hill_has_a_round_closed_contour():
    n, level = 80, 0.3
    field = [[1.0 - ((i - 40) ** 2 + (j - 40) ** 2) / 900.0 for i in range(n + 1)] for j in range(n + 1)]
    (ring,) = _contours(field, level)
    assert ring[0] == ring[-1]
    for x, y in ring:
        assert math.hypot(x - 40, y - 40) == pytest.approx(30.0 * math.sqrt(1.0 - level), rel=1e-3)


def test_crests_are_full_lines_and_troughs_broken_ones():
    drawing = waves(lambda x, t: 0.4 * math.sin(2 * math.pi * (x - t)))
    roles = {g.about[9:13]: g.role for g in drawing.groups if g.about.startswith("pressure")}
    assert roles == {"-0.3": "today", "-0.1": "today", "+0.1": "dimension", "+0.3": "dimension"}
    tints = {g.fill: sum(len(g.shapes) for _ in "x") for g in drawing.groups if g.fill}
    assert set(tints) == {"wash", "accent wash"}
    assert write_svg(drawing).count("<path") > 100


def test_time_runs_upwards_from_the_first_angle():
    drawing = waves(lambda x, t: 0.4 * t, (Mark(180.0, "bottom dead centre"),))
    word = next(one for one in texts(drawing) if one.words == "bottom dead centre")
    assert word.at[1] == pytest.approx(HEIGHT_MM / 4, abs=1.5)
    assert "highest +0.40 bar" in drawing.description
    assert any(one.words == "180°  1.8 ms" for one in texts(drawing))


def test_the_pipe_is_drawn_under_the_map():
    drawing = waves(lambda x, t: x)
    (pipe,) = [g for g in drawing.groups if g.about == "the pipe in outline"]
    upper, lower = (one.points for one in pipe.shapes)  # type: ignore[union-attr]
    wide = [a[1] - b[1] for a, b in zip(upper, lower, strict=True)]
    assert wide[-1] / wide[0] == pytest.approx(BORE[-1] / BORE[0])
    assert max(y for _, y in upper) < 0.0


def test_one_place_is_no_diagram():
    with pytest.raises(SheetError, match="two places"):
        wave_plot(WavePlot((0.0,), (30.0,), DEG, tuple((0.0,) for _ in DEG), (), 0.02))
