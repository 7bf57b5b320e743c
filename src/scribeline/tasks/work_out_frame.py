"""One picture of the page "Work out": what shows of the cylinder, drawn and put into words at once.

`frame` runs in a thread beside the server's loop: while a finger moves an edge it is asked some twenty times a second,
for the drawings in view only and without new +/-; when the finger lets go, once more for everything.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from scribeline.marking.shapes import Drawing
from scribeline.tasks.as_if import Moves, opening_edge
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing
from scribeline.tasks.length_steps import for_browser
from scribeline.tasks.live_drawings import (
    DRAWINGS,
    Held,
    Turning,
    draw,
    grip,
    opening_deg,
    port_named,
    ports_in_hand,
    turning,
)
from scribeline.tasks.questions import Answer, Number
from scribeline.tasks.work_out_view import (
    Bench,
    Warned,
    agreed,
    answers_of,
    bench_of,
    chief_numbers,
    taken_as,
    warned,
    what_moved,
)
from scribeline.units import Units

# Beside which drawing a warning stands: the first whose question or name fits; the others stand with their numbers.
_BESIDE = (("squish", "squish_"), ("bore", "ports."), ("bore", "least_land"), ("bore", "exhaust_width"),
           ("bore", "exhaust_open_under"), ("bore", "intake_open_above"), ("bore", "highest_roof"),
           ("section", "compression_"), ("dial", "blowdown"))  # fmt: skip


@dataclass(frozen=True)
class Frame:
    """What the page shows of a bench.

    drawings : by name, those that were asked for; a sentence where there is nothing to draw
    turning, grip, fields : for the browser, as plain data; `fields` holds each port's edges and its opening angle
    lengths : how the browser writes and steps lengths
    """

    bench: Bench
    drawings: Mapping[str, InlineDrawing | str]
    chief: tuple[Number, ...]
    answers: tuple[Answer, ...]
    warned: tuple[Warned, ...]
    agreed: tuple[tuple[str, bool], ...]
    taken_as: tuple[str, ...]
    moved: tuple[str, ...]
    turning: dict[str, Any]
    grip: dict[str, Any]
    fields: dict[str, dict[str, Any]]
    lengths: dict[str, Any]

    def beside(self, drawing: str) -> tuple[Warned, ...]:
        """The warnings that belong to a drawing."""
        return tuple(one for one in self.warned if beside(one) == drawing)


FINE_MM, COARSE_MM = 0.1, 1.0
"""How far an arrow key moves an edge, alone and with Shift."""


def frame(
    document: Mapping[str, Any],
    *,
    moves: Moves | None = None,
    drawings: Collection[str] = tuple(DRAWINGS),
    plus_minus: bool = True,
    units: Units = "mm",
) -> Frame:
    """Work out, draw and word the work in hand; arguments as `work_out_view.bench_of`."""
    bench = bench_of(document, moves=moves, plus_minus=plus_minus, units=units)
    drawn = {name: draw(bench, name) for name in DRAWINGS if name in drawings}
    bore = drawn.get("bore")
    turn, held = turning(bench), grip(bench, bore if isinstance(bore, Drawing) else None)
    return Frame(
        bench,
        {name: one if isinstance(one, str) else inline_drawing(one) for name, one in drawn.items()},
        chief_numbers(bench),
        answers_of(bench),
        warned(bench),
        agreed(bench),
        taken_as(bench),
        what_moved(bench),
        {} if turn is None else _turning(turn),
        {} if held is None else {"wide_mm": held.wide_mm, "edges": [_edge(one) for one in held.edges]},
        fields(bench),
        for_browser(units, FINE_MM, COARSE_MM),
    )


def _turning(turn: Turning) -> dict[str, Any]:
    return vars(turn) | {"turn": vars(turn.turn), "areas": None if turn.areas is None else vars(turn.areas)}


def _edge(one: Held) -> dict[str, Any]:
    return vars(one) | {"travel": vars(one.travel)} | one.travel.said


def fields(bench: Bench) -> dict[str, dict[str, Any]]:
    """Each port's edges and opening angle as its fields show them."""
    found: dict[str, dict[str, Any]] = {}
    for name in ports_in_hand(bench):
        port = port_named(bench, name)
        angle = opening_deg(bench, port) if port is not None else None
        if port is not None:
            found[name] = {"opens": None if angle is None else round(angle, 2), "by": opening_edge(port)}
    return found


def beside(one: Warned) -> str:
    """The drawing that a warning stands beside; empty where it stands with its number only."""
    return next((drawing for drawing, begins in _BESIDE if one.about.startswith(begins)), "")
