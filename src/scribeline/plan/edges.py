"""Moving the edges of a port: each height, each wheel reading and the outline by the same exact amount.

Whatever a builder measured of an edge is moved, so that two ways of measuring go on agreeing as well as they did. An
outline is swept: everything the tool passes over is open afterwards, so that the new outline holds the old one.
"""

from math import asin, isnan, sin
from typing import Literal

from shapely import Polygon, unary_union
from shapely.affinity import translate

from scribeline.engine import EngineRecord, Measured, Port, readings
from scribeline.errors import GeometryError
from scribeline.geometry.derive.bottom_end import derive_crank, derive_deck
from scribeline.geometry.derive.edges import derive_edges, derive_skirt_edge, derive_wheel
from scribeline.geometry.evaluate import evaluate
from scribeline.geometry.refit import edge_readings_raised, moved
from scribeline.geometry.working import Workings, by_place

Edge = Literal["roof", "floor"]
Outline = tuple[tuple[float, float], ...]


def edge_depths_mm(record: EngineRecord) -> dict[tuple[str, Edge], float]:
    """Depth of every known edge below the crown at top dead centre [mm], by port and edge, as the card has it."""
    w = Workings(by_place(readings(record)))
    derive_crank(w, record)
    derive_deck(w, record)
    derive_wheel(w, record)
    for port in record.ports:
        if port.role != "blind":
            derive_skirt_edge(w, record, port)
            derive_edges(w, port)
    values = evaluate(w, draws=0).values
    edges: tuple[Edge, Edge] = ("roof", "floor")
    wanted = {(port.name, edge): f"ports.{port.name}.{edge}_depth_mm" for port in record.ports for edge in edges}
    return {key: value for key, name in wanted.items() if name in values and (value := values[name].value) is not None}


def edge_moved(record: EngineRecord, port: Port, edge: Edge, off_mm: float) -> Port:
    """The port with `off_mm` (0 or more) taken off its roof, upwards, or its floor, downwards."""
    if off_mm == 0.0:
        return port
    up = off_mm if edge == "roof" else -off_mm
    moves = {"from_deck_mm": -up, "from_crown_tdc_mm": -up, "from_crown_bdc_mm": up}
    changed: dict[str, object] = {
        f"{edge}_{way}": moved(getattr(port, f"{edge}_{way}"), by, port.spec(f"{edge}_{way}"))
        for way, by in moves.items()
    }
    changed |= {key: _existing(value) for key, value in edge_readings_raised(record, port, edge, up).items()}
    if port.outline_mm:
        changed["outline_mm"] = swept(port.outline_mm, 0.0, -up)
    return port.model_copy(update=changed)


def _existing(value: object) -> object:
    """A wheel reading that still exists: an edge below bottom dead centre is met by no crown, and no wheel reads it."""
    return None if isinstance(value, Measured) and isnan(value.value) else value


def widened(record: EngineRecord, port: Port, wider_mm: float) -> Port:
    """The port wider by `wider_mm` straight across, half of it on each side."""
    bore, chord = record.cylinder.bore_mm.value, chord_mm(record, port)
    if chord + wider_mm >= bore:
        raise GeometryError(f"{chord + wider_mm:.2f} mm across with a bore of {bore:g} mm; widen it less")
    arc_more = bore * (asin((chord + wider_mm) / bore) - asin(chord / bore))
    changed: dict[str, object] = {
        "width_chord_mm": moved(port.width_chord_mm, wider_mm, port.spec("width_chord_mm")),
        "width_arc_mm": moved(port.width_arc_mm, arc_more, port.spec("width_arc_mm")),
    }
    if port.outline_mm:
        half = tuple((across - arc_more / 2.0, down) for across, down in port.outline_mm)
        changed["outline_mm"] = swept(half, arc_more, 0.0)
    return port.model_copy(update=changed)


def chord_mm(record: EngineRecord, port: Port) -> float:
    """Width of a port straight across, from the way of measuring that the card uses."""
    bore = record.cylinder.bore_mm.value
    if port.outline_mm:
        across = [point[0] for point in port.outline_mm]
        return bore * sin((max(across) - min(across)) / bore)
    if port.width_chord_mm is not None:
        return port.width_chord_mm.value
    assert port.width_arc_mm is not None
    return bore * sin(port.width_arc_mm.value / bore)


def corners_squared(port: Port, edge: Edge, off_mm: float) -> Port:
    """The corners of an edge cut to a radius smaller by `off_mm`."""
    key = f"{edge}_corner_radius_mm"
    return port.model_copy(update={key: moved(getattr(port, key), -off_mm, port.spec(key))})


def swept(outline: Outline, right_mm: float, down_mm: float) -> Outline:
    """Everything an outline passes over while it moves straight by (right, down), as one outline."""
    if right_mm == 0.0 and down_mm == 0.0:
        return outline
    here = Polygon(outline)
    there = translate(here, right_mm, down_mm)
    sides = [
        Polygon([a, b, (b[0] + right_mm, b[1] + down_mm), (a[0] + right_mm, a[1] + down_mm)])
        for a, b in zip(outline, (*outline[1:], outline[0]), strict=True)
    ]
    whole = unary_union([here, there, *(side for side in sides if side.is_valid and side.area > 0.0)])
    if not isinstance(whole, Polygon):
        raise GeometryError("the outline crosses itself; take its points off the rubbing in order, going round it")
    points = list(whole.exterior.simplify(0.0).coords)[:-1]
    return tuple((float(x), float(y)) for x, y in points)
