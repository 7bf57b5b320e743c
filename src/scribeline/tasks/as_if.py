"""Ports as if they were different: an edge dragged or typed on the page, while the record stays as it was measured.

The work in hand keeps, beside the record, how far each edge is moved: ``{"exhaust": {"roof_mm": 1.0}}``. Plus is
where metal would come off, minus where it would have to be put on. Nothing of the record changes until the builder
says what was meant: put back, the record's reading after all, or a cut of the plan.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

from scribeline.engine import EngineRecord, Port, judged_again
from scribeline.errors import GeometryError, Problem, RecordError
from scribeline.geometry import kinematics
from scribeline.geometry.derive.bottom_end import CRANK
from scribeline.geometry.derive.edges import CHAMFER, skirt_edge
from scribeline.geometry.work_out import WorkedOut
from scribeline.plan.carry_out import possible_for
from scribeline.plan.edges import Edge, chord_mm, edge_moved, widened
from scribeline.plan.plan_file import VERSION, step_table
from scribeline.plan.steps import Step
from scribeline.units import Units, length, length_number

Side = Literal["roof", "floor", "width"]
SIDES: tuple[Side, ...] = get_args(Side)
EDGES: tuple[Edge, ...] = get_args(Edge)
Moves = Mapping[str, Mapping[Side, float]]

KEY = "as_if"
"""Where the moved edges stand in the work in hand."""
STEP_MM = 0.01  # what an edge is moved by is kept to this; no builder files finer
MOST_MM: Mapping[Side, float] = {"roof": 10.0, "floor": 15.0, "width": 40.0}  # judgement: as the operations have it
LEAST_MM = 1.0  # judgement: height or width that is left of a port beyond its corners


def moves_of(document: Mapping[str, Any], record: EngineRecord | None) -> Moves:
    """How far each edge is moved, by port and side; what does not fit the record is left out."""
    wanted = document.get(KEY)
    if not isinstance(wanted, Mapping) or record is None:
        return {}
    found: dict[str, dict[Side, float]] = {}
    for port in record.ports:
        sides = wanted.get(port.name)
        if not isinstance(sides, Mapping):
            continue
        for side in SIDES:
            by = sides.get(f"{side}_mm")
            if isinstance(by, int | float) and by:
                found.setdefault(port.name, {})[side] = float(by)
    return found


def kept_as(moves: Moves) -> dict[str, dict[str, float]] | None:
    """The moves as the work in hand keeps them; None where nothing is moved."""
    kept = {
        port: {f"{side}_mm": round(by, 4) for side, by in sides.items() if by}
        for port, sides in moves.items()
        if any(sides.values())
    }
    return kept or None


def moved_by(moves: Moves, port: str, side: Side, by_mm: float) -> Moves:
    """The same with one edge moved by so much in all."""
    new: dict[str, dict[Side, float]] = {name: dict(sides) for name, sides in moves.items()}
    new.setdefault(port, {})[side] = round(by_mm / STEP_MM) * STEP_MM
    return new


def record_as_if(record: EngineRecord, moves: Moves) -> EngineRecord:
    """The record with every reading of a moved edge as it would then be: heights and degrees move together.

    Raises RecordError where no engine could have such a port.
    """
    ports = tuple(_port_as_if(record, port, moves[port.name]) if port.name in moves else port for port in record.ports)
    return record if ports == record.ports else judged_again(record.model_copy(update={"ports": ports}))


def _port_as_if(record: EngineRecord, port: Port, sides: Mapping[Side, float]) -> Port:
    try:
        for edge in EDGES:
            port = edge_moved(record, port, edge, sides.get(edge, 0.0))
        return widened(record, port, sides["width"]) if sides.get("width") else port
    except GeometryError as error:
        problem = Problem(f"ports.{port.name}", None, words_of(port.name, sides), "what metal allows", str(error))
        raise RecordError([problem], record.name) from None


def label_of(port: str, side: Side, by_mm: float) -> str:
    """What stands beside undo: "as if exhaust: roof 1.00 mm higher"."""
    return f"as if {words_of(port, {side: by_mm})}"


def words_of(port: str, sides: Mapping[Side, float], units: Units = "mm") -> str:
    """A port's moved edges in words.

    >>> words_of("exhaust", {"roof": 1.0, "width": -0.4})
    'exhaust: roof 1.00 mm higher, 0.40 mm narrower'
    """
    said = {
        "roof": ("roof {} higher", "roof {} lower"),
        "floor": ("floor {} lower", "floor {} higher"),
        "width": ("{} wider", "{} narrower"),
    }
    parts = [said[side][by < 0].format(length(abs(by), units)) for side, by in sides.items() if by]
    return f"{port}: {', '.join(parts) or 'as measured'}"


@dataclass(frozen=True)
class Travel:
    """One edge of a port that can be moved.

    mm : where it is now, as shown: depth of roof or floor below the deck, or width straight across
    by_mm : how far it is moved, plus where metal would come off; low, high : how far it can be
    """

    port: str
    side: Side
    mm: float
    by_mm: float
    low: float
    high: float

    @property
    def way(self) -> float:
        """By how much `mm` grows for each mm that comes off."""
        return -1.0 if self.side == "roof" else 1.0

    @property
    def measured_mm(self) -> float:
        """Where it is as measured."""
        return self.mm - self.way * self.by_mm

    def by_for(self, mm: float) -> float:
        """How far it must be moved to stand at `mm`, within its travel."""
        return min(max(self.way * (mm - self.measured_mm), self.low), self.high)

    @property
    def said(self) -> dict[str, float | str]:
        """What the browser needs beside the plain fields."""
        return {"measured": self.measured_mm, "way": self.way, "label": self.label}

    @property
    def label(self) -> str:
        """What it is called."""
        return {"roof": "roof below the deck", "floor": "floor below the deck", "width": "width straight across"}[
            self.side
        ]


def outside(travel: Travel | None, units: Units = "mm") -> str:
    """Why an edge does not go where it was asked to; `travel` is None where it can go nowhere to do what was asked."""
    if travel is None:
        return "No height of this port gives that; it stays where it was."
    ends = sorted(travel.measured_mm + travel.way * by for by in (travel.low, travel.high))
    low, high = length_number(ends[0], units), length(ends[1], units)
    return f"Accepted: {low} to {high}, the {travel.label}. It stays where it was."


def travels(now: WorkedOut, measured: EngineRecord, moves: Moves) -> Iterator[Travel]:
    """Every edge that can be moved, port by port; a free outline only where metal would come off."""
    deck = now.values["deck_clearance_mm"].value if "deck_clearance_mm" in now.values else None
    as_measured = {port.name: port for port in measured.ports}
    for port in now.record.ports:
        at = f"ports.{port.name}"
        if f"{at}.height_mm" not in now.values or f"{at}.arc_mm" not in now.values:
            continue
        sides = moves.get(port.name, {})
        height, roof, floor = (
            now.values[f"{at}.{name}"].value for name in ("height_mm", "roof_depth_mm", "floor_depth_mm")
        )
        assert height is not None
        assert roof is not None
        assert floor is not None
        radii = [one.value if one else 0.0 for one in (port.roof_corner_radius_mm, port.floor_corner_radius_mm)]
        spare = {"height": max(0.0, height - sum(radii) - LEAST_MM), "width": 0.0}
        chord = chord_mm(now.record, port)
        bridge = port.bridge_mm.value if port.bridge_mm else 0.0
        spare["width"] = max(0.0, chord - bridge - 2.0 * max(radii) - LEAST_MM)
        off = {"roof": roof, "width": now.record.cylinder.bore_mm.value - 0.1 - chord}
        shown: dict[Side, float] = {"roof": roof + (deck or 0.0), "floor": floor + (deck or 0.0), "width": chord}
        for side in SIDES:
            by = sides.get(side, 0.0)
            low = by - (spare["width"] if side == "width" else spare["height"])
            high = min(MOST_MM[side], by + max(0.0, off.get(side, MOST_MM[side])))
            if as_measured[port.name].outline_mm:
                low = 0.0
            yield Travel(port.name, side, shown[side], by, max(low, -MOST_MM[side]), max(high, 0.0))


def opening_edge(port: Port) -> Side:
    """The edge that says when the port opens: the roof, or the floor of an intake under the skirt."""
    return "floor" if port.role == "intake" else "roof"


def off_to_open_at(now: WorkedOut, port: Port, angle_deg: float) -> float | None:
    """How much more must come off the opening edge so that it opens at this angle; None where no height does.

    angle_deg : degrees after top dead centre; before it for a piston-port intake
    """
    if not 0.0 < angle_deg < 180.0:
        return None
    at = f"ports.{port.name}"
    crank = [float(now.samples[name][0]) for name in CRANK.values()]
    if port.role == "intake":
        names = f"{at}.floor_depth_mm", skirt_edge(port)
        if any(name not in now.samples for name in names):
            return None
        floor, skirt = (float(now.samples[name][0]) for name in names)
        return float(kinematics.depth_mm(-angle_deg, *crank)) + skirt - floor
    if CHAMFER not in now.samples:
        return None
    roof, chamfer = (float(now.samples[name][0]) for name in (f"{at}.roof_depth_mm", CHAMFER))
    return roof - (float(kinematics.depth_mm(angle_deg, *crank)) + chamfer)


# --- what was meant --------------------------------------------------------------------------------------------------

_CUTS: Mapping[str, Mapping[Side, str]] = {
    "exhaust": {"roof": "raise exhaust roof", "floor": "lower exhaust floor", "width": "widen exhaust"},
    "transfer": {"roof": "raise transfer roof", "width": "widen transfer"},
    "intake": {"roof": "raise intake roof", "floor": "lower intake floor", "width": "widen intake"},
}


def as_cuts(record: EngineRecord, moves: Moves) -> tuple[tuple[Step, ...], tuple[str, ...]]:
    """The moved edges as steps of a plan, and a sentence for each that no cut can make."""
    can = {(one.operation.key, one.target) for one in possible_for(record)}
    steps, refused = [], []
    for port in record.ports:
        kind = "exhaust" if "exhaust" in port.role else "intake" if port.role == "intake" else "transfer"
        for side, by in moves.get(port.name, {}).items():
            do = _CUTS[kind].get(side, "")
            said = words_of(port.name, {side: by})
            if by < 0:
                refused.append(f"{said}: this would have to add metal, and metal does not grow back.")
            elif (do, port.name) in can:
                steps.append(Step(do, port.name, round(by, 4)))
            else:
                refused.append(f"{said}: no operation cuts this edge on this engine.")
    return tuple(steps), tuple(refused)


def plan_with(plan: Mapping[str, Any] | None, steps: Iterable[Step]) -> tuple[str, Any]:
    """Where in the work in hand the plan gets these steps at its end, and what then stands there."""
    more = [step_table(step) for step in steps]
    if not plan:
        return "plan", {"scribeline_plan": VERSION, "steps": more}
    return "plan.steps", [*plan.get("steps", ()), *more]


def as_readings(record: EngineRecord, moves: Moves) -> Iterator[tuple[int, dict[str, Any], str]]:
    """Each moved port as the record would then have it: its place in the list, the whole port, and words for it."""
    new = record_as_if(record, moves)
    for index, (before, after) in enumerate(zip(record.ports, new.ports, strict=True)):
        if before != after:
            plain = _rounded(after.model_dump(mode="json", by_alias=True, exclude_defaults=True))
            yield index, plain, f"{words_of(after.name, moves[after.name])}, as the reading"


def _rounded(value: Any) -> Any:
    """Numbers to a ten-thousandth: a moved reading need not show how it was worked out."""
    if isinstance(value, float):
        return round(value, 4)
    if isinstance(value, dict):
        return {key: _rounded(one) for key, one in value.items()}
    return [_rounded(one) for one in value] if isinstance(value, list) else value
