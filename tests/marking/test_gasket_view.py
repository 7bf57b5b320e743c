"""Gaskets: holes where the studs are, as DXF with closed outlines; what cannot be one is refused."""

import doctest
import io
import math

import ezdxf
import pytest

from scribeline.errors import SheetError
from scribeline.marking import gasket_view
from scribeline.marking.dxf import write_dxf
from scribeline.marking.gasket_view import Gasket, StudCircle, gasket_drawing
from scribeline.marking.sheet import Issue, Sheet

ISSUE = Issue("Invented engine", "0a1b2c3d", "2026-11-25", invented=True)
STUDS = StudCircle(68.0, 8.5, (45.0, 135.0, 225.0, 315.0))
FACE = ((-40.0, -38.0), (40.0, -38.0), (40.0, 38.0), (-40.0, 38.0))


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(gasket_view).failed == 0


def test_the_dxf_has_every_hole_and_a_closed_edge() -> None:
    gasket = Gasket("head", 50.0, STUDS, FACE, "0.80 mm copper")
    document = ezdxf.read(io.StringIO(write_dxf(Sheet(gasket_drawing(gasket), "middle of the bore"), ISSUE)))
    circles = document.modelspace().query('CIRCLE[layer=="CUT"]')
    assert sorted(one.dxf.radius for one in circles) == pytest.approx([4.25] * 4 + [25.5])
    (edge,) = document.modelspace().query('LWPOLYLINE[layer=="CUT"]')
    assert edge.closed
    assert [tuple(point) for point in edge.get_points("xy")] == [pytest.approx(point) for point in FACE]


def test_a_stud_stands_at_its_clock_position() -> None:
    """Exhaust side up, clockwise: 90 degrees is to the right, 180 down."""
    gasket = Gasket("base", 40.0, StudCircle(60.0, 6.0, (0.0, 90.0, 200.0)))
    cut = next(one for one in gasket_drawing(gasket).groups if one.about.startswith("bore"))
    places = [shape.centre for shape in cut.shapes[1:]]  # type: ignore[union-attr]
    down = math.radians(200.0)
    assert places == [
        pytest.approx((0.0, 30.0)), pytest.approx((30.0, 0.0)),
        pytest.approx((30.0 * math.sin(down), 30.0 * math.cos(down))),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("gasket", "reason"),
    [
        (Gasket("head", 50.0, None), "neither studs nor an outer edge"),
        (Gasket("head", 50.0, StudCircle(68.0, 8.5, (0.0,)), FACE), "breaks through"),
        (Gasket("head", 90.0, None, FACE), "crosses itself or the bore"),
        (Gasket("head", 50.0, None, (FACE[0], FACE[2], FACE[1], FACE[3])), "crosses itself or the bore"),
    ],
)
def test_what_cannot_be_a_gasket_is_refused(gasket: Gasket, reason: str) -> None:
    with pytest.raises(SheetError, match=reason):
        gasket_drawing(gasket)
