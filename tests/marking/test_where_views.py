"""Drawings of where a number is taken: the lit one stands out, and lighting another one moves nothing."""

from pathlib import Path

import pytest

from scribeline.errors import SheetError
from scribeline.marking.drafting import extent
from scribeline.marking.shapes import Dimension, Text
from scribeline.marking.svg import write_svg
from scribeline.marking.where_views import VIEWS, places_of, where_drawing


@pytest.mark.parametrize("view", VIEWS)
def test_lighting_another_place_does_not_change_the_size(view: str) -> None:
    boxes = {(round(box.width, 6), round(box.height, 6)) for box in
             (extent(where_drawing(view, lit)) for lit in places_of(view))}  # fmt: skip
    assert len(boxes) == 1
    (size,) = boxes
    assert 60 < size[0] < 155


@pytest.mark.parametrize(("view", "lit"), [(view, lit) for view in VIEWS for lit in places_of(view)])
def test_the_lit_place_has_words_and_the_others_have_none(view: str, lit: str) -> None:
    drawing = where_drawing(view, lit)
    measured = [shape for group in drawing.groups if group.role == "measured" for shape in group.shapes]
    assert measured
    words = [shape.words for shape in measured if isinstance(shape, Text | Dimension) and shape.words]
    assert words or lit in ("clock_deg", "mirrored", "circle_diameter_mm")
    others = [shape for group in drawing.groups if group.role == "hatch" for shape in group.shapes]
    assert all(not shape.words for shape in others if isinstance(shape, Dimension))
    assert drawing.title in write_svg(drawing, inline=True)


def test_the_picture_in_the_docs_is_what_is_drawn() -> None:
    """After a change: write where_drawing("engine", "stroke_mm") to it again."""
    assert Path("docs/pictures/where-stroke.svg").read_text() == write_svg(where_drawing("engine", "stroke_mm"))


def test_what_is_not_there_is_said_with_what_is() -> None:
    with pytest.raises(SheetError, match="there is no drawing 'x'; there are: engine"):
        where_drawing("x", "y")
    with pytest.raises(SheetError, match=r"no 'y' in the drawing 'engine'; there are: stroke_mm"):
        where_drawing("engine", "y")
