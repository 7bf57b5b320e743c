"""The history of a cylinder as a line: everything on it, in order, none over another."""

import pytest

from scribeline.errors import SheetError
from scribeline.marking.drafting import text_box, texts
from scribeline.marking.shapes import Circle, Polyline
from scribeline.marking.svg import write_svg
from scribeline.marking.timeline_view import PITCH_MM, Bar, History, Stop, place_of, timeline_view

STOPS = (
    Stop("record", "1 Mar 2026", "as bought", 1),
    Stop("promise", "1 Mar 2026", "22 numbers of a plan with a rather long name that goes on and on and on"),
    Stop("sheets", "2 Mar 2026", "bore wrap, cut list"),
    Stop("record", "2 Mar 2026", "squish set, 0.65 mm off the top", 2, 1),
    Stop("measured", "2 Mar 2026", "22 numbers measured again"),
    Stop("runs", "7 Mar 2026", "saturday: dry, no wind"),
    Stop("lesson", "8 Mar 2026", "Solder before filing"),
    Stop("file", "8 Mar 2026", "a-photograph-with-a-very-long-name-that-cannot-be-broken.jpg"),
    Stop("record", "9 Mar 2026", "back to the old gasket", 3, 1),
)
BARS = (
    Bar("22 numbers: 22 of 22 held", 1, 4, "inside"),
    Bar("25 to 50 km/h: outside the band", 1, 5, "outside"),
    Bar("a guess: at the edge", 2, 4, "at the edge"),
    Bar("top speed: not measured yet", 5, None, "open"),
)


def test_nothing_that_is_written_lies_on_another() -> None:
    drawing = timeline_view(History("kart", STOPS, BARS))
    boxes = [(text.words, text_box(text)) for text in texts(drawing)]
    long = "a-photograph"  # one word that is wider than its place; it is the only one that may reach over
    clashes = [
        (one, other)
        for i, (one, box) in enumerate(boxes)
        for other, second in boxes[:i]
        if box.overlaps(second) and not (one.startswith(long) or other.startswith(long))
    ]
    assert clashes == []


def test_everything_is_told_in_words_too() -> None:
    drawing = timeline_view(History("kart", STOPS, BARS))
    write_svg(drawing)
    for stop in STOPS:
        assert stop.words in drawing.description
    for bar in BARS:
        assert bar.words in drawing.description


def test_records_stand_on_the_line_in_order() -> None:
    drawing = timeline_view(History("kart", STOPS, BARS))
    circles = [one.centre for group in drawing.groups if "revision" in group.about for one in group.shapes
               if isinstance(one, Circle)]  # fmt: skip
    assert circles == [place_of(0), place_of(3), place_of(8)]
    assert place_of(3) == (3 * PITCH_MM, 0.0)


def test_a_record_made_from_an_older_one_is_joined_to_it() -> None:
    drawing = timeline_view(History("kart", STOPS))
    (branch,) = [group for group in drawing.groups if "was made from" in group.about]
    assert branch.about == "revision 3 was made from revision 1"
    assert branch.role == "today"
    (shape,) = branch.shapes
    assert isinstance(shape, Polyline)
    assert (shape.points[0][0], shape.points[-1][0]) == (0.0, 8 * PITCH_MM)


@pytest.mark.parametrize("fate", ["open", "inside", "at the edge", "outside", "left out"])
def test_fates_differ_without_colour(fate: str) -> None:
    def ends(what: str) -> list[tuple[object, ...]]:
        drawing = timeline_view(History("kart", STOPS, (Bar("x", 1, 4, what),)))  # type: ignore[arg-type]
        return [(group.role, group.fill, [type(shape) for shape in group.shapes]) for group in drawing.groups]

    others = {
        "open": "inside",
        "inside": "at the edge",
        "at the edge": "outside",
        "outside": "open",
        "left out": "inside",
    }
    assert ends(fate) != ends(others[fate])


def test_no_history_no_picture() -> None:
    with pytest.raises(SheetError, match="keep its first record"):
        timeline_view(History("kart", ()))
