"""The drawings of a plan in hand: bore, dial, section, areas and pipe before and after, laid over each other."""

from dataclasses import replace
from functools import lru_cache

from scribeline.geometry.work_out import WorkedOut
from scribeline.marking.before_after import (
    areas_before_after,
    bore_before_after,
    dial_before_after,
    section_before_after,
)
from scribeline.marking.operation_views import operation_drawing
from scribeline.marking.pipe_view import pipe_view
from scribeline.marking.shapes import Drawing
from scribeline.tasks.drawings import area_curves, bore_of, dial_of, pipe_of, section_of
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing
from scribeline.units import Units

OVERLAYS = {
    "bore": "The bore",
    "dial": "Timing",
    "section": "Section",
    "areas": "Open areas",
    "pipe": "Pipe",
}
"""The drawings by name, with the word that stands over each."""
CRANK_DEG = 60.0
AREA_STEP_DEG = 2.0
"""Between two points of an area curve: a third of a millimetre on the plot, which nobody sees while a slider moves."""


def before_and_after(
    name: str, before: WorkedOut, after: WorkedOut, lowered_mm: float = 0.0, units: Units = "mm"
) -> Drawing | str:
    """One of OVERLAYS, or the sentence why it cannot be drawn.

    lowered_mm : what the plan takes off the barrel's top; units : what lengths on it are read in
    """
    if name == "bore":
        was, now = bore_of(before, units), bore_of(after, units)
        if was is None or now is None:
            return "The bore cannot be drawn: measure the deck clearance, and edges and width of one port at least."
        return _bore(was, now, lowered_mm)
    if name == "dial":
        first, second = dial_of(before), dial_of(after)
        if first is None or second is None:
            return "The timing cannot be drawn: measure roof and floor of one port at least."
        return _dial(first, second)
    if name == "section":
        one, two = section_of(before, CRANK_DEG, units), section_of(after, CRANK_DEG, units)
        if one is None or two is None:
            return "The section cannot be drawn: measure the deck clearance."
        return _section(one, two)
    if name == "areas":
        return _areas(before, after)
    old, new = pipe_of(before.record, units), pipe_of(after.record, units)
    if new is None:
        return "The pipe cannot be drawn: measure its sections."
    drawing = pipe_view(new, None if old is None or old == new else old)
    return replace(drawing, title="The exhaust pipe, before and after")


def _areas(before: WorkedOut, after: WorkedOut) -> Drawing | str:
    was, now = area_curves(before, AREA_STEP_DEG), area_curves(after, AREA_STEP_DEG)
    if not now:
        return "The open areas cannot be drawn: measure edges and width of one port at least."
    return areas_before_after(was, now)


# While a slider moves one port, section and pipe stay: what was drawn last is still right.
_bore = lru_cache(maxsize=8)(bore_before_after)
_dial = lru_cache(maxsize=8)(dial_before_after)
_section = lru_cache(maxsize=8)(section_before_after)
_inline = lru_cache(maxsize=32)(inline_drawing)


def overlay(
    name: str, before: WorkedOut, after: WorkedOut, lowered_mm: float = 0.0, units: Units = "mm"
) -> InlineDrawing | str:
    """The same for a page."""
    drawing = before_and_after(name, before, after, lowered_mm, units)
    return drawing if isinstance(drawing, str) else _inline(drawing)


def operation_picture(operation: str, place: int) -> InlineDrawing:
    """The drawing of an operation for a page, under a name of its own where the operation stands twice."""
    drawing = operation_drawing(operation)
    return inline_drawing(replace(drawing, name=f"{drawing.name}-{place}"))
