"""DXF read back with ezdxf: unit, layers, closed outlines, arcs and lengths."""

import doctest
import io
import math
import os
import subprocess
import sys
from dataclasses import replace

import ezdxf
import pytest
from ezdxf.document import Drawing as Document
from ezdxf.math import bulge_to_arc

from scribeline.errors import SheetError
from scribeline.marking import check_bars, dxf
from scribeline.marking.bore_view import bore_view
from scribeline.marking.dxf import layer_of, write_dxf
from scribeline.marking.shapes import (
    PENS,
    Circle,
    Dimension,
    Drawing,
    Hatch,
    Text,
    arc,
    group,
    line,
    rectangle,
    rounded_rectangle,
)
from scribeline.marking.sheet import Issue, Sheet
from tests.marking.demonstrations import KART_BORE

ISSUE = Issue("Invented engine", "0a1b2c3d", "2026-11-25", invented=True)


def read(sheet: Sheet) -> Document:
    return ezdxf.read(io.StringIO(write_dxf(sheet, ISSUE)))


def sheet_of(*groups: object) -> Sheet:
    return Sheet(Drawing("part", "A part", "A part.", groups), "its lower left corner")  # type: ignore[arg-type]


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(dxf).failed == 0


def test_the_file_is_sound_and_in_millimetres() -> None:
    document = read(Sheet(bore_view(KART_BORE), "deck"))
    assert document.header["$INSUNITS"] == 4  # millimetres, see tests/reference/09
    assert document.header["$MEASUREMENT"] == 1
    assert not document.audit().has_errors


def test_layers_go_by_meaning() -> None:
    document = read(
        sheet_of(
            group("cut", rectangle(0, 0, 100, 50)),
            group("bend", line((0, 25), (100, 25))),
            group("mark", Circle((20, 20), 3), Text((5, 5), "left side")),
        )
    )
    layers = {entity.dxf.layer for entity in document.modelspace()}
    assert layers == {"CUT", "BEND", "MARK", "CHECK", "LETTERING"}
    known = {layer.dxf.name for layer in document.layers}
    assert layers <= known
    assert document.layers.get("BEND").dxf.linetype == "BEND"
    assert document.linetypes.get("BEND")
    assert {text.dxf.text for text in document.modelspace().query('TEXT[layer=="LETTERING"]')} >= {"left side"}
    assert all(layer_of(role).replace("_", " ").lower() == role for role in PENS)


def test_a_closed_outline_is_one_closed_polyline_with_its_arcs() -> None:
    document = read(sheet_of(group("cut", rounded_rectangle(0, 0, 80, 50, (10, 10, 5, 0)))))
    (outline,) = document.modelspace().query('LWPOLYLINE[layer=="CUT"]')
    assert outline.closed
    radii = []
    points = list(outline.get_points("xyb"))
    length = 0.0
    for (x0, y0, bulged), (x1, y1, _) in zip(points, points[1:] + points[:1], strict=True):
        if bulged:
            _, start, end, radius = bulge_to_arc((x0, y0), (x1, y1), bulged)
            radii.append(radius)
            length += radius * ((end - start) % math.tau)
        else:
            length += math.dist((x0, y0), (x1, y1))
    assert sorted(radii) == pytest.approx([5.0, 10.0, 10.0], abs=1e-9)
    # straight sides less the corners, and three quarter circles
    exact = 2 * (80 + 50) - 2 * 25.0 + 0.5 * math.pi * 25.0
    assert length == pytest.approx(exact, abs=1e-6)


def test_a_long_arc_and_a_circle_keep_their_centre_and_radius() -> None:
    document = read(sheet_of(group("cut", arc((10, 20), 123.456789, 10.0, 340.0), Circle((1, 2), 33.333333))))
    (curve,) = document.modelspace().query('LWPOLYLINE[layer=="CUT"]')
    (x0, y0, bulged), (x1, y1, _) = curve.get_points("xyb")
    centre, start, end, radius = bulge_to_arc((x0, y0), (x1, y1), bulged)
    assert (centre.x, centre.y) == pytest.approx((10, 20), abs=1e-6)
    assert radius * ((end - start) % math.tau) == pytest.approx(123.456789 * math.radians(330.0), abs=1e-6)
    (circle,) = document.modelspace().query("CIRCLE")
    assert circle.dxf.radius == pytest.approx(33.333333, abs=1e-9)


def test_the_check_bars_stand_beside_the_drawing() -> None:
    document = read(sheet_of(group("cut", rectangle(0, 0, 100, 50))))
    lengths = sorted(
        round(one.dxf.start.distance(one.dxf.end), 9) for one in document.modelspace().query('LINE[layer=="CHECK"]')
    )
    assert lengths[-4:] == [100.0, 100.0, 101.6, 101.6]
    part = [point for one in document.modelspace().query('LWPOLYLINE[layer=="CUT"]') for point in one.get_points("xy")]
    for one in document.modelspace().query('LINE[layer=="CHECK"]'):
        for end in (one.dxf.start, one.dxf.end):
            assert end.x < min(x for x, _ in part) or end.y < min(y for _, y in part)


def test_without_its_check_bars_it_is_not_written(monkeypatch: pytest.MonkeyPatch) -> None:
    bars = check_bars.bars
    monkeypatch.setattr(dxf, "bars", lambda at, up: [] if up else bars(at, up))
    with pytest.raises(SheetError, match="100 mm up"):
        write_dxf(sheet_of(group("cut", rectangle(0, 0, 100, 50))), ISSUE)


def test_an_enlarged_drawing_is_refused() -> None:
    large = sheet_of(group("cut", rectangle(0, 0, 100, 50)))
    with pytest.raises(SheetError, match="1:1"):
        write_dxf(replace(large, drawing=replace(large.drawing, scale=5.0)), ISSUE)


def test_dimensions_and_hatches_become_plain_lines() -> None:
    document = read(
        sheet_of(
            group("dimension", Dimension((0, 0), (40, 0), "40.00", 8.0)),
            group("hatch", Hatch((rectangle(0, 0, 20, 20),), 5.0, 0.0)),
        )
    )
    space = document.modelspace()
    hatch = [one.dxf.start.distance(one.dxf.end) for one in space.query('LINE[layer=="HATCH"]')]
    assert hatch == pytest.approx([20.0] * len(hatch))
    assert len(hatch) in (3, 4)
    assert len(space.query('LWPOLYLINE[layer=="DIMENSION"]')) == 2  # two arrow heads
    assert {entity.dxftype() for entity in space} <= {"LINE", "LWPOLYLINE", "CIRCLE", "TEXT"}


def test_the_same_sheet_gives_the_same_file_in_another_process() -> None:
    code = (
        "from tests.marking.test_dxf import *;import hashlib;"
        "print(hashlib.sha256(write_dxf(Sheet(bore_view(KART_BORE), 'deck'), ISSUE).encode()).hexdigest())"
    )
    seen = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(seen) == 1
