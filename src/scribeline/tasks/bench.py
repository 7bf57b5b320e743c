"""The cut list as it is worked through at the bench: what to do, where to stop, what to measure and what to expect.

Everything here is plain data, worked out from the text of a record and of a plan, so that a worker process can do it.
What was ticked and measured is laid over it by `bench_marks`.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from math import hypot
from typing import Any

from scribeline.engine import EngineRecord, Measured, Part, read_record
from scribeline.engine.measured import Spec
from scribeline.errors import ScribelineError
from scribeline.geometry.work_out import work_out
from scribeline.marking.bore_view import bore_view
from scribeline.marking.operation_views import operation_drawing
from scribeline.marking.shapes import Drawing
from scribeline.plan.carry_out import carry_out_one
from scribeline.plan.cut_list import HAND_MM, CutStep, Line, Width, cut_list, stop_short
from scribeline.plan.description import Stage
from scribeline.plan.operations import BY_KEY
from scribeline.plan.plan_file import read_plan
from scribeline.plan.what_if import WhatIf, what_if
from scribeline.tasks.drawings import bore_of
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing
from scribeline.units import Units

Place = tuple[str | int, ...]
DRAWS = 512
_LEAST = 1e-9
_ASKED = ("gap_mm", "deck_clearance_at_tdc_mm", "from_deck_mm", "width_chord_mm", "width_arc_mm", "radius_mm",
          "skirt_exhaust_side_mm", "skirt_intake_side_mm", "advance_deg")  # fmt: skip
_NOT_AGAIN = ("mass_g", "solder_diameter_mm", "nominal_mm")
"""Numbers that move with a step and that nobody measures because of it."""
MEASURE_AGAIN = (
    "Squish and deck are done. Before a line is scribed: measure deck clearance, squish and every edge that will be "
    "cut, from the deck as it is now. Type them at the step before this one, and work out the rest."
)


@dataclass(frozen=True)
class Ask:
    """One number to measure at a stop.

    place : where it stands in the record, with slashes, lists counted from 0
    was : before the step, None where there was none; plus_minus : of what is expected: what the instrument and the
    record leave open, and what the hand may miss
    asked : shown at once; the others, which moved with it, where somebody wants to look closer
    """

    place: str
    label: str
    unit: str
    was: float | None
    expected: float
    plus_minus: float
    how: str
    asked: bool


@dataclass(frozen=True)
class BenchStep:
    """One step of the cut list.

    stop_mm : how much is off when its stop line is reached, where it has one
    at_stop : what to measure at its stop line, () where it has none; at_end : what to measure when it is done
    drawing : this engine's bore before and after where ports are cut, else what the operation does, schematic
    """

    number: int
    title: str
    what: str
    stage: str
    tools: tuple[str, ...]
    skill: str
    undo: str
    caution: str
    measure_first: str
    stop_mm: float | None
    instructions: tuple[tuple[str, str], ...]
    lines: tuple[Line, ...]
    widths: tuple[Width, ...]
    at_stop: tuple[Ask, ...]
    at_end: tuple[Ask, ...]
    drawing: InlineDrawing


@dataclass(frozen=True)
class Bench:
    """A plan as it is worked through. reordered : what is done in another place than it was written, and why."""

    plan: str
    steps: tuple[BenchStep, ...]
    reordered: tuple[str, ...]
    said: tuple[str, ...]


@lru_cache(maxsize=4)
def worked(record: str, plan: str) -> WhatIf:
    """A plan worked out on a record, both as text. Raises RecordError and PlanError."""
    return what_if(read_record(record, "the record in hand"), read_plan(plan, "the plan in hand"))


def bench(record: str, plan: str, units: Units = "mm") -> Bench:
    """Every step of a plan, in the order it is done. Raises RecordError and PlanError.

    units : what its drawings are read in; words and numbers are put into them by `bench_words`
    """
    done = worked(record, plan)
    listed = cut_list(done, DRAWS)
    steps = tuple(_step(done, step, units) for step in listed.steps)
    return Bench(listed.plan, steps, tuple(f"{one.why}." for one in listed.reordered), listed.said)


def _step(done: WhatIf, cut: CutStep, units: Units) -> BenchStep:
    operation, number = cut.operation, cut.number
    before, after = done.records[number - 1], done.records[number]
    halfway = at_stop_line(done, number)
    coming = {(line.port, line.edge) for line in _coming_lines(done, number)} if cut.stage is Stage.DECK else set()
    return BenchStep(
        number=number,
        title=cut.title,
        what=operation.what,
        stage=cut.stage.words,
        tools=operation.tools,
        skill=operation.skill,
        undo=operation.undo,
        caution=operation.caution,
        measure_first=MEASURE_AGAIN if cut.measure_first else "",
        stop_mm=cut.amount_stop if halfway is not None else None,
        instructions=tuple((one.do, one.measure) for one in cut.instructions),
        lines=cut.lines,
        widths=cut.widths,
        at_stop=() if halfway is None else tuple(asks(before, halfway, cut, set())),
        at_end=tuple(asks(before, after, cut, coming)),
        drawing=inline_drawing(_drawing(before, after, cut, units)),
    )


def _drawing(before: EngineRecord, after: EngineRecord, cut: CutStep, units: Units) -> Drawing:
    """What is done, drawn, under a name of the step's own."""
    drawing = operation_drawing(cut.step.do)
    if cut.lines or cut.widths:
        bore, target = (bore_of(work_out(record, draws=0), units) for record in (before, after))
        if bore is not None and target is not None:
            drawing = replace(
                bore_view(replace(bore, planned=target.ports)), title="The bore: today dashed, target full"
            )
    return replace(drawing, name=f"bench-{cut.number}-{drawing.name}")


@dataclass(frozen=True)
class _Edge:
    port: str
    edge: str


def _coming_lines(done: WhatIf, number: int) -> Iterator[_Edge]:
    """Edges that later steps cut: they are measured from the deck as it is after this one."""
    for after, later in zip(done.records[number:], done.records[number + 1 :], strict=False):
        was = {port.name: port for port in after.ports}
        for port in later.ports:
            for edge in ("roof", "floor"):
                key = f"{edge}_from_deck_mm"
                if port.name in was and getattr(port, key) != getattr(was[port.name], key):
                    yield _Edge(port.name, edge)


def at_stop_line(done: WhatIf, number: int) -> EngineRecord | None:
    """The record to expect at a step's stop line; None where it has none: nothing is cut, or a whole port is new."""
    step, amount = done.steps[number - 1], stop_amount(done, number)
    if amount is None:
        return None
    try:
        return carry_out_one(done.records[number - 1], replace(step, amount=amount), done.plan.box, number)
    except ScribelineError:  # less than the whole is refused only where the range begins above it
        return None


def stop_amount(done: WhatIf, number: int) -> float | None:
    """How much a step takes off up to its stop line; None where it has none."""
    step = done.steps[number - 1]
    operation = BY_KEY[step.do]
    metal = operation.amount is not None and operation.amount.metal and operation.amount.unit == "mm" and step.amount
    return stop_short(step.amount, operation.stage) if metal and operation.stage in HAND_MM else None


def asks(before: EngineRecord, expected: EngineRecord, cut: CutStep, coming: set[tuple[str, str]]) -> Iterator[Ask]:
    """Every measured number that a step moves, as it should be found afterwards; what is asked at once comes first."""
    if cut.stage in (Stage.BREATHING, Stage.RUNNING) and cut.step.amount is None:
        return  # another part is fitted: its numbers are its own, measured before it goes on
    was = {place: measured for place, measured, _, _ in numbers(before)}
    hand_mm, degrees = HAND_MM.get(cut.stage, 0.0), {line.port: line.plus_minus_deg for line in cut.lines}
    found = []
    for place, measured, spec, owner in numbers(expected):
        old, field = was.get(place), str(place[-1])
        if field in _NOT_AGAIN or (old is not None and abs(old.value - measured.value) < _LEAST):
            continue
        hand = hand_mm if spec.unit == "mm" else (degrees.get(owner) or 0.0) if spec.unit == "deg" else 0.0
        later = (owner, field.partition("_")[0]) in coming
        deck_only = cut.stage is Stage.DECK and place[0] == "ports" and not later
        found.append(
            Ask(
                place=slashed(place),
                label=label_of(expected, place, owner),
                unit=spec.unit,
                was=None if old is None else old.value,
                expected=measured.value,
                plus_minus=hypot(measured.resolved_plus_minus(spec), hand),
                how=spec.how,
                asked=field.endswith(_ASKED) and not deck_only,
            )
        )
    yield from sorted(found, key=lambda one: not one.asked)


# --- numbers of a record by their place -------------------------------------------------------------------------------


def numbers(part: Part, place: Place = (), owner: str = "") -> Iterator[tuple[Place, Measured, Spec, str]]:
    """Every measured number below a part: its place, itself, what it accepts, the name of the part it belongs to."""
    for field in type(part).model_fields:
        value, spec = getattr(part, field), part.spec(field)
        for here, one in _members((*place, field), value):
            if isinstance(one, Measured) and spec is not None:
                yield here, one, spec, owner
            elif isinstance(one, Part):
                yield from numbers(one, here, getattr(one, "name", None) or owner)


def _members(place: Place, value: Any) -> Iterator[tuple[Place, Any]]:
    if isinstance(value, tuple):
        yield from (((*place, i), one) for i, one in enumerate(value))
    else:
        yield place, value


def slashed(place: Place) -> str:
    """A place as one word.

    >>> slashed(("squish", "readings", 0, "gap_mm"))
    'squish/readings/0/gap_mm'
    """
    return "/".join(map(str, place))


_FIELDS = {
    "gap_mm": "squish by solder",
    "deck_clearance_at_tdc_mm": "deck down to the crown's edge at top dead centre",
    "deck_height_mm": "barrel's height",
    "clearance_on_engine_cc": "volume above the piston, filled on the engine",
    "nominal_mm": "thickness as bought",
    "compressed_mm": "thickness, tightened",
    "width_chord_mm": "width, straight across",
    "width_arc_mm": "width, along the bore",
    "roof_corner_radius_mm": "radius of the upper corners",
    "floor_corner_radius_mm": "radius of the lower corners",
    "skirt_exhaust_side_mm": "skirt on the exhaust side",
    "skirt_intake_side_mm": "skirt on the intake side",
    "advance_deg": "spark before top dead centre",
}
_WAYS = {
    "from_deck_mm": "down from the deck",
    "from_crown_tdc_mm": "down from the crown at top dead centre",
    "from_crown_bdc_mm": "up from the crown at bottom dead centre",
    "opens_deg_atdc": "on the wheel, opening",
    "closes_deg_atdc": "on the wheel, closing",
}
_SIDES = {0: "exhaust side", 90: "right", 180: "far side", 270: "left"}


def label_of(record: EngineRecord, place: Place, owner: str = "") -> str:
    """What a number of a record is called at the bench: `exhaust: roof, down from the deck`."""
    field = str(place[-1])
    edge, _, way = field.partition("_")
    words = f"{edge}, {_WAYS[way]}" if way in _WAYS else _FIELDS.get(field, field.rpartition("_")[0].replace("_", " "))
    if place[:2] == ("squish", "readings") and record.squish is not None:
        clock = record.squish.readings[int(place[2])].clock_deg.value
        return f"{words} at {clock:g}°" + (f", {_SIDES[round(clock) % 360]}" if round(clock) % 360 in _SIDES else "")
    if place[0] == "gaskets":
        owner = f"{place[1]} gasket"
    pair = any(port.name == owner and port.mirrored for port in record.ports)
    return f"{owner}{', both sides' if pair else ''}: {words}" if owner else words
