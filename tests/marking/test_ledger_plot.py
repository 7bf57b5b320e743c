"""Predictions beside measurements: where each mark stands, and that nothing lies on another."""

import pytest

from scribeline.errors import SheetError
from scribeline.marking.drafting import text_box, texts
from scribeline.marking.ledger_plot import LedgerRow, ledger_plot
from scribeline.marking.shapes import Circle, Polyline
from scribeline.marking.svg import write_svg

ROWS = [
    LedgerRow("25 to 50 km/h", "8.00 s (7.40 to 8.60)", "8.20 ± 0.30 s", 1 / 3, 0.5),
    LedgerRow("most power at the crank", "9.1 kW (7.8 to 10.5)", "12.2 ± 0.4 kW", 2.2, 0.3, held=False),
    LedgerRow("exhaust opens after top dead centre", "90.1° (89.8 to 90.4)", "95.0 ± 0.5°", 16.0, 1.7, held=False),
    LedgerRow("top speed", "82 km/h (76 to 88)"),
]


def marks(row: LedgerRow) -> list[Circle | Polyline]:
    drawing = ledger_plot([row], "kart")
    return [shape for group in drawing.groups if group.role == "target" for shape in group.shapes
            if isinstance(shape, Circle | Polyline)]  # fmt: skip


def test_a_mark_stands_as_far_from_the_middle_as_its_difference_in_half_widths() -> None:
    def middle(place: float) -> float:
        (mark,) = marks(LedgerRow("x", "1", "2", place, 0.0))
        assert isinstance(mark, Circle)
        return mark.centre[0]

    assert middle(0.0) == 0.0
    assert middle(1.0) == pytest.approx(2.0 * middle(0.5))
    drawing = ledger_plot([LedgerRow("x", "1", "2", 1.0, 0.0)], "kart")
    (band,) = [group for group in drawing.groups if group.fill == "wash"]
    assert max(x for shape in band.shapes if isinstance(shape, Polyline) for x, _ in shape.points) == middle(1.0)


def test_held_outside_and_far_off_differ_without_colour() -> None:
    held, outside, far = (marks(row) for row in ROWS[:3])
    assert isinstance(held[0], Circle)
    assert len(outside) == 2
    assert all(isinstance(one, Polyline) and not one.closed for one in outside)
    assert isinstance(far[0], Polyline)
    assert far[0].closed
    assert marks(ROWS[3]) == []


def test_nothing_that_is_written_lies_on_another() -> None:
    drawing = ledger_plot(ROWS, "Predictions beside what was measured")
    write_svg(drawing)
    boxes = [text_box(text) for text in texts(drawing)]
    assert not any(box.overlaps(other) for i, box in enumerate(boxes) for other in boxes[:i])
    for row in ROWS:
        assert row.predicted in drawing.description


def test_no_prediction_no_picture() -> None:
    with pytest.raises(SheetError, match="keep one before the next cut"):
        ledger_plot([], "kart")
