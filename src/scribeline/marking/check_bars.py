"""The bars that prove a printed sheet's scale: 100 mm and 4 in, across and up, on every page.

They are measured between the middles of their two end lines. `prove` is asked by every writer of pages: a page
without all four bars is refused.
"""

import math
from collections.abc import Iterable, Iterator

from scribeline.errors import SheetError
from scribeline.marking.printer import BAR_IN_MM, BAR_MM
from scribeline.marking.shapes import Group, Point, Polyline, Text, group, polygon

TICK_MM = 5.0
"""Length of an end line."""
_BODY_MM = 2.0
_LETTER_MM = 2.0


def bars(at: Point, up: bool, edge: str = "") -> list[Group]:
    """Both bars beside each other: from `at` to the right, the inches below; or upwards, the inches to the right.

    edge : the edge of the paper that they run along, printed beside them
    """
    return [
        *_bar(at, up, BAR_MM, 10, "100 mm", edge),
        *_bar(_moved(at, (0.0, -7.0), up), up, BAR_IN_MM, 8, "4 in", edge),
    ]


def _bar(at: Point, up: bool, length: float, blocks: int, words: str, edge: str) -> list[Group]:
    """One bar: an axis with two end lines, and blocks by turns full and open above it."""

    def place(along: float, beside: float) -> Point:
        return _moved(at, (along, beside), up)

    axis = Polyline((place(0.0, 0.0), place(length, 0.0)))
    ends = [Polyline((place(s, -0.5 * TICK_MM), place(s, 0.5 * TICK_MM))) for s in (0.0, length)]
    step = length / blocks
    body = [
        polygon(place(i * step, 0.0), place((i + 1) * step, 0.0), place((i + 1) * step, _BODY_MM), place(i * step,
                                                                                                         _BODY_MM))
        for i in range(blocks)
    ]  # fmt: skip
    middle = place(0.5 * length, -0.6 - _LETTER_MM)
    name = Text(middle, f"{words}, {edge}" if edge else words, _LETTER_MM, "middle", 90.0 if up else 0.0, bold=True)
    return [
        group("check", axis, *ends, *body[::2], about=f"check bar, {words} {'up' if up else 'across'} the paper"),
        group("check", *body[1::2], fill="ink"),
        group("check", name),
    ]


def _moved(at: Point, by: Point, up: bool) -> Point:
    along, beside = by
    return (at[0] - beside, at[1] + along) if up else (at[0] + along, at[1] + beside)


def prove(groups: Iterable[Group], width_mm: float, height_mm: float) -> None:
    """Refuse a page that cannot prove its scale: SheetError unless all four bars stand on it, whole.

    groups : what is printed uncut, in millimetres from the paper's lower left corner
    """
    wanted = {(up, length) for up in (False, True) for length in (BAR_MM, BAR_IN_MM)}
    for start, end in _axes(groups):
        inside = all(0.0 <= x <= width_mm and 0.0 <= y <= height_mm for x, y in (start, end))
        dx, dy = abs(end[0] - start[0]), abs(end[1] - start[1])
        for up, length in tuple(wanted):
            along, beside = (dy, dx) if up else (dx, dy)
            if inside and beside < 1e-9 and math.isclose(along, length, abs_tol=1e-9):
                wanted.discard((up, length))
    if wanted:
        missing = ", ".join(f"{length:g} mm {'up' if up else 'across'}" for up, length in sorted(wanted))
        raise SheetError(
            f"a page without its check bars is not written; missing: {missing}\n    accepted: pages with a bar of "
            "100 mm and one of 4 in, across and up\n    what to do: make the page with scribeline.marking.page"
        )


def _axes(groups: Iterable[Group]) -> Iterator[tuple[Point, Point]]:
    for one in groups:
        if one.role == "check":
            for shape in one.shapes:
                if isinstance(shape, Polyline) and len(shape.points) == 2:
                    yield shape.points[0], shape.points[1]
