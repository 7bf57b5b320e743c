"""Labels against an independent least-squares fit, and never on top of each other."""

import doctest
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression
from shapely.geometry import LineString, box

from scribeline.marking import labels
from scribeline.marking.drafting import Box, flattened, text_box, text_width_mm, texts
from scribeline.marking.labels import Label, column, rail, spread, wrapped
from scribeline.marking.shapes import Drawing, Group, Polyline, Text
from tests.marking.demonstrations import DRAWINGS

intervals = st.lists(st.tuples(st.floats(-100.0, 100.0), st.floats(0.5, 30.0)), min_size=1, max_size=14)
words = st.text("abcdefgh ilmnorstw.", min_size=1, max_size=18).filter(str.strip)
many_labels = st.lists(
    st.builds(
        Label,
        st.tuples(st.floats(0.0, 150.0), st.floats(-60.0, -1.0)),
        st.lists(words, min_size=1, max_size=4).map(tuple),
    ),
    min_size=1,
    max_size=16,
)


def lettering(groups: list[Group]) -> list[Text]:
    return [shape for one in groups for shape in one.shapes if isinstance(shape, Text)]


def leaders(groups: list[Group]) -> list[Polyline]:
    return [shape for one in groups for shape in one.shapes if isinstance(shape, Polyline)]


def overlapping(lines: list[Text]) -> list[tuple[str, str]]:
    rooms = [(one.words, text_box(one)) for one in lines]
    return [(a, b) for i, (a, room) in enumerate(rooms) for b, other in rooms[:i] if room.overlaps(other)]


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(labels).failed == 0


@settings(deadline=None)
@given(intervals, st.floats(0.0, 5.0))
def test_spreading_is_the_least_squares_order_keeping_fit(wanted: list[tuple[float, float]], gap: float) -> None:
    """scipy's isotonic regression, on positions less the room that everything before takes."""
    middles, sizes = zip(*sorted(wanted), strict=True)
    steps = np.concatenate([[0.0], np.cumsum([0.5 * (a + b) + gap for a, b in pairwise(sizes)])])
    expected = isotonic_regression(np.array(middles) - steps).x + steps
    assert spread(middles, sizes, gap=gap) == pytest.approx(expected, abs=1e-9)


@settings(deadline=None)
@given(intervals, st.floats(0.0, 5.0))
def test_spread_intervals_stay_between_their_ends_where_they_fit(wanted: list[tuple[float, float]], gap: float) -> None:
    middles, sizes = zip(*sorted(wanted), strict=True)
    needed = sum(sizes) + gap * (len(sizes) - 1)
    low, high = -50.0, -50.0 + 1.1 * needed
    found = spread(middles, sizes, gap=gap, low=low, high=high)
    for (a, size_a), (b, size_b) in pairwise(zip(found, sizes, strict=True)):
        assert b - a >= 0.5 * (size_a + size_b) + gap - 1e-9
    assert found[0] - 0.5 * sizes[0] >= low - 1e-9
    assert found[-1] + 0.5 * sizes[-1] <= high + 1e-9


def test_nothing_to_spread() -> None:
    assert spread([], []) == []


@settings(deadline=None, max_examples=60)
@given(many_labels, st.sampled_from(["above", "below"]))
def test_labels_on_a_rail_never_overlap(some: list[Label], side: str) -> None:
    if side == "below":
        some = [Label((one.place[0], -one.place[1]), one.lines) for one in some]
    groups = rail(some, base_mm=0.0, left_mm=-15.0, right_mm=165.0, side=side)  # type: ignore[arg-type]
    assert overlapping(lettering(groups)) == []
    assert sorted(one.words for one in lettering(groups)) == sorted(line for one in some for line in one.lines)
    assert sorted(one.points[0] for one in leaders(groups)) == sorted(one.place for one in some)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.integers(0, 150), min_size=2, max_size=14, unique=True), st.integers(1, 4))
def test_leaders_of_a_rail_never_cross_each_other_or_lettering(xs: list[int], lines: int) -> None:
    some = [Label((float(x), -10.0), ("secondary transfer",) * lines) for x in xs]
    groups = rail(some, base_mm=0.0, left_mm=-15.0, right_mm=165.0, side="above")
    drawn = [LineString(one.points) for one in leaders(groups)]
    assert not any(a.intersects(b) for i, a in enumerate(drawn) for b in drawn[:i])
    rooms = [text_box(one) for one in lettering(groups)]
    assert not any(one.intersects(box(r.left, r.bottom + 0.6, r.right, r.top)) for one in drawn for r in rooms)


def test_a_few_labels_stand_in_one_row_over_their_places() -> None:
    some = [Label((x, -5.0), ("roof 29.1",)) for x in (10.0, 60.0, 120.0)]
    found = lettering(rail(some, base_mm=0.0, left_mm=0.0, right_mm=150.0, side="above"))
    assert [one.at[0] for one in found] == [10.0, 60.0, 120.0]
    assert len({one.at[1] for one in found}) == 1


def test_a_label_wider_than_the_drawing_is_still_drawn() -> None:
    some = [Label((5.0, -5.0), ("a name that nobody would give a port",)), Label((6.0, -5.0), ("intake",))]
    found = lettering(rail(some, base_mm=0.0, left_mm=0.0, right_mm=20.0, side="above"))
    assert len(found) == 2
    assert overlapping(found) == []


def test_no_labels_make_no_groups() -> None:
    assert rail([], base_mm=0.0, left_mm=0.0, right_mm=1.0, side="above") == []


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.integers(-40, 40), st.integers(1, 4)), min_size=1, max_size=10),
    st.sampled_from(["left", "right"]),
)
def test_labels_in_a_column_never_overlap_and_keep_their_order(rows: list[tuple[int, int]], side: str) -> None:
    some = [Label((0.0, float(y)), ("crown's edge",) * lines) for y, lines in rows]
    groups = column(some, edge_mm=5.0 if side == "right" else -5.0, side=side)  # type: ignore[arg-type]
    found = lettering(groups)
    assert overlapping(found) == []
    assert all((text_box(one).left > 5.0) if side == "right" else (text_box(one).right < -5.0) for one in found)
    ends = sorted((one.points[0][1], one.points[-1][1]) for one in leaders(groups))
    assert all(a[1] <= b[1] for a, b in pairwise(ends) if a[0] < b[0])


def test_of_two_places_at_one_height_the_first_stands_higher() -> None:
    found = lettering(column([Label((0.0, 0.0), ("deck",)), Label((0.0, 0.0), ("crown",))], edge_mm=1.0, side="right"))
    heights = {one.words: one.at[1] for one in found}
    assert heights["deck"] > heights["crown"]


def test_words_are_broken_where_there_is_a_space() -> None:
    lines = wrapped("secondary transfer, right hand side", 24.0)
    assert " ".join(lines) == "secondary transfer, right hand side"
    assert all(text_width_mm(one, 2.0) <= 24.0 for one in lines)
    assert wrapped("unbreakableandlong", 5.0) == ("unbreakableandlong",)


# --- every drawing -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", DRAWINGS)
def test_no_lettering_lies_on_other_lettering(name: str) -> None:
    assert overlapping([one for one in texts(DRAWINGS[name]) if one.words]) == []


def thick_lines(drawing: Drawing) -> list[Polyline]:
    roles = ("outline", "exhaust", "transfer", "intake")
    return [shape for one in drawing.groups if one.role in roles for shape in one.shapes if isinstance(shape, Polyline)]


@pytest.mark.parametrize("name", [name for name in DRAWINGS if "bore" in name or "pipe" in name or "section" in name])
def test_no_lettering_lies_on_a_thick_line(name: str) -> None:
    drawn = [
        LineString([*flattened(one), *(flattened(one)[:1] if one.closed else [])])
        for one in thick_lines(DRAWINGS[name])
    ]
    rooms = [(one.words, text_box(one)) for one in texts(DRAWINGS[name]) if one.words]
    hit = [words for words, r in rooms for one in drawn if one.intersects(box(r.left, r.bottom, r.right, r.top))]
    assert hit == []


def test_an_overlap_is_seen() -> None:
    assert overlapping([Text((0.0, 0.0), "exhaust"), Text((1.0, 1.0), "intake")]) == [("intake", "exhaust")]
    assert not Box(0.0, 0.0, 1.0, 1.0).overlaps(Box(1.0, 0.0, 2.0, 1.0))
    assert math.isfinite(text_width_mm("", 2.0))
