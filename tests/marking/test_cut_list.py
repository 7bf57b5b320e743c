"""The printed cut list: everything on it, in order, on pages that hold it, with a box for each reading."""

import doctest

import pytest

from scribeline.marking import cut_list as module
from scribeline.marking.cut_list import CutList, CutRow, Task, cut_list_drawings
from scribeline.marking.drafting import bounds, text_box
from scribeline.marking.shapes import Drawing, Polyline, Text

ROWS = (
    CutRow("exhaust, roof", "down from the deck", 28.75, 28.3, 27.95, 0.22, "90.3° to 88.5°", "± 0.5°, after TDC",
           "89.3°"),
    CutRow("boost (new), roof", "down from the deck", None, None, 37.0),
)  # fmt: skip
TASKS = tuple(
    Task(f"step number {n}", ("do this", "then that, " * 20), ("the height",), ("squish gap: 0.95 ± 0.05 mm",))
    for n in range(1, 13)
)
LIST = CutList(ROWS, TASKS, ("The limit on x is switched off.",), ("Face the deck first.",), ("Mind your eyes.",), "p")


def words(drawing: Drawing) -> list[str]:
    return [shape.words for one in drawing.groups for shape in one.shapes if isinstance(shape, Text)]


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize(("width", "height"), [(170.0, 230.0), (175.0, 210.0), (258.0, 360.0)])
def test_every_page_holds_what_is_on_it(width: float, height: float) -> None:
    for drawing in cut_list_drawings(LIST, width, height):
        box = bounds(drawing.groups)
        assert box.width <= width + 1e-6
        assert box.height <= height + 1e-6


def test_nothing_is_lost_over_the_pages_and_the_order_is_kept() -> None:
    pages = cut_list_drawings(LIST, 170.0, 230.0)
    assert len(pages) > 1
    assert [page.name for page in pages] == [f"cut-list-{n}" for n in range(1, len(pages) + 1)]
    said = [one for page in pages for one in words(page)]
    titles = [one for one in said if "step number" in one]
    assert titles == [f"{n}  step number {n}" for n in range(1, 13)]
    for one in ("28.75", "28.30", "27.95", "± 0.22", "90.3° to 88.5°", "± 0.5°, after TDC", "89.3°", "37.00",
                "! The limit on x is switched off.", "Face the deck first.", "\N{BULLET} Mind your eyes."):  # fmt: skip
        assert one in said


def test_there_is_a_box_for_every_reading() -> None:
    pages = cut_list_drawings(LIST, 170.0, 230.0)
    boxes = [
        shape for page in pages for one in page.groups if one.role == "frame"
        for shape in one.shapes if isinstance(shape, Polyline) and shape.closed
    ]  # fmt: skip
    # three to a row, one tick to a task, and one for each of its measure and expect lines
    assert len(boxes) == 3 * len(ROWS) + 3 * len(TASKS)


def test_no_words_lie_on_other_words() -> None:
    for drawing in cut_list_drawings(LIST, 170.0, 230.0):
        boxes = [text_box(shape) for one in drawing.groups for shape in one.shapes if isinstance(shape, Text)]
        assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])
