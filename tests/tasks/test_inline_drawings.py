"""Drawings inside pages: no scale is promised there that a screen does not keep."""

from scribeline.geometry.work_out import work_out
from scribeline.tasks.drawings import engine_drawings
from scribeline.tasks.inline_drawings import inline_drawing
from tests.examples import KART, edited


def test_no_scale_stands_in_a_drawing_on_a_page() -> None:
    drawings = list(engine_drawings(work_out(edited(name=KART), draws=0)))
    assert any("full size" in str(one.groups) for one in drawings)
    assert [one.name for one in drawings if "full size" in inline_drawing(one).svg] == []
