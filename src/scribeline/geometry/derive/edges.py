"""Card lines of where a port's edges are: every way they were measured, brought to one depth below the crown.

The depth of an edge is counted from the crown's edge at the bore wall with the piston at top dead centre, downwards.
Heights are preferred to the degree wheel unless the port says `trust = "wheel"`; whatever else was measured is
compared with the way in use.
"""

from collections.abc import Callable, Iterator

import numpy as np

from scribeline.engine import INSTRUMENTS, EngineRecord, Port
from scribeline.geometry import kinematics
from scribeline.geometry.derive.bottom_end import CRANK
from scribeline.geometry.working import FloatArray, Workings

WHEEL_ERROR = "degree_wheel_error_deg"
CHAMFER = "piston.crown_chamfer_mm"
_SKIRTS = {
    "intake": "piston.skirt_intake_side_mm",
    "exhaust": "piston.skirt_exhaust_side_mm",
    "auxiliary exhaust": "piston.skirt_exhaust_side_mm",
}


def derive_wheel(w: Workings, record: EngineRecord) -> None:
    """How far the degree wheel was off, from the two piston-stop readings; nothing where no wheel was read."""
    wheel = record.degree_wheel
    if not any(place.endswith("_deg_atdc") for place in w.readings):
        return
    if wheel is None or wheel.readings == "zeroed":
        if wheel is None:
            w.assume(WHEEL_ERROR, 0.0, "deg", "no [degree_wheel] in the record: its zero is taken as true")
        else:
            w.choose(WHEEL_ERROR, 0.0, "deg", "the record says the wheel was zeroed")
        return
    w.derive(
        WHEEL_ERROR,
        "what the degree wheel reads at true top dead centre",
        "deg",
        "the shift that puts both readings R1 (forwards) and R2 (back) at one piston height",
        {"R1": "degree_wheel.stop_turning_forwards_deg", "R2": "degree_wheel.stop_turning_back_deg", **CRANK},
        kinematics.piston_stop_wheel_error_deg,
    )


def skirt_edge(port: Port) -> str:
    """Name of the depth of the skirt's lower edge over this port; known only where `derive_skirt_edge` found it."""
    return f"ports.{port.name}.skirt_edge_mm"


def derive_skirt_edge(w: Workings, record: EngineRecord, port: Port) -> None:
    """The edge that opens an intake, or should cover an exhaust: the skirt's end, or that of a cut-out over the port.

    A cut-out counts where the middle of the port lies inside it. A window in the skirt is recorded, and no flow through
    it is counted.
    """
    if port.role not in _SKIRTS:
        return
    place, what = _SKIRTS[port.role], "bottom of the skirt"
    bore = record.cylinder.bore_mm.value
    for opening in record.piston.openings:
        at = f"piston.openings.{opening.name}"
        half_deg = np.degrees(np.arcsin(min(opening.width_mm.value / bore, 1.0)))
        apart = min(abs((opening.clock_deg.value - clock + 180.0) % 360.0 - 180.0) for clock in port.clocks_deg)
        if apart > half_deg:
            continue
        if opening.bottom_from_crown_mm is None:
            place, what = f"{at}.top_from_crown_mm", f"top of the cut-out {opening.name}"
        else:
            w.assume(f"{at}.flow", 0.0, "mm2", f"a window over the {port.name} port: no flow through it is counted")
    if w.knows(place):
        label = f"{port.name}: crown's edge down to the {what}"
        w.derive(skirt_edge(port), label, "mm", "k", {"k": place}, lambda k: k, "measured", inner=True)


def derive_edges(w: Workings, port: Port) -> bool:
    """Depth of the port's roof and floor. False where the record does not allow both."""
    roof, floor = _edge(w, port, "roof"), _edge(w, port, "floor")
    return roof and floor


def _edge(w: Workings, port: Port, edge: str) -> bool:
    name = f"ports.{port.name}.{edge}_depth_mm"
    label = f"{port.name}: {edge} below the crown at top dead centre"
    heights, wheel = list(_heights(w, port, edge)), list(_wheel(w, port, edge))
    ways = wheel + heights if port.trust == "wheel" else heights + wheel
    chosen = []
    for way, text, formula, inputs, compute in ways:
        derived = w.derive(f"{name}.{way}", f"{label}, {text}", "mm", formula, inputs, compute, inner=True)
        chosen.append((derived, text))
    return w.first_of(name, label, "mm", chosen) is not None


_Way = tuple[str, str, str, dict[str, str], Callable[..., FloatArray]]


def _heights(w: Workings, port: Port, edge: str) -> Iterator[_Way]:
    place = f"ports.{port.name}.{edge}"
    if w.knows(f"{place}_from_deck_mm", "deck_clearance_mm"):
        inputs = {"d": f"{place}_from_deck_mm", "c": "deck_clearance_mm"}
        yield "from_deck", "measured from the deck", "d − c", inputs, lambda d, c: d - c
    if w.knows(f"{place}_from_crown_tdc_mm"):
        inputs = {"d": f"{place}_from_crown_tdc_mm"}
        yield "from_crown_tdc", "measured from the crown at top dead centre", "d", inputs, lambda d: d
    if w.knows(f"{place}_from_crown_bdc_mm"):
        inputs = {"s": "true_stroke_mm", "h": f"{place}_from_crown_bdc_mm"}
        yield "from_crown_bdc", "measured from the crown at bottom dead centre", "s − h", inputs, lambda s, h: s - h
    if port.outline_mm and w.knows("deck_clearance_mm"):
        corner = min(y for _, y in port.outline_mm) if edge == "roof" else max(y for _, y in port.outline_mm)
        shift = f"ports.{port.name}.outline_{edge}_shift_mm"
        width = port.outline_plus_minus_mm
        reason = "how far the outline may sit too low here" + ("" if width else ": +/- of a rubbing")
        w.assume(shift, 0.0, "mm", reason, width or INSTRUMENTS["rubbing"]["mm"])
        inputs = {"o": shift, "c": "deck_clearance_mm"}
        yield "from_outline", "from its outline", f"{corner:g} + o − c", inputs, lambda o, c: corner + o - c


def _wheel(w: Workings, port: Port, edge: str) -> Iterator[_Way]:
    """Depth from the degree wheel: two readings give it from the angle between them, which no zero error touches."""
    opens, closes = (f"ports.{port.name}.{edge}_{what}_deg_atdc" for what in ("opens", "closes"))
    readings = [place for place in (opens, closes) if w.knows(place)]
    if not readings:
        return
    skirt = port.role == "intake"
    if skirt and not w.knows(skirt_edge(port)):
        return
    edge_inputs = {"k": skirt_edge(port)} if skirt else {"k": derive_chamfer(w)}
    moved = "skirt bottom" if skirt else "crown"
    if len(readings) == 2:
        depth_for = kinematics.depth_for_duration_above_mm if skirt else kinematics.depth_for_duration_below_mm

        def from_pair(o: FloatArray, c: FloatArray, k: FloatArray, *crank: FloatArray) -> FloatArray:
            return depth_for(np.mod(c - o, 360.0), *crank) + k

        formula = "x where the piston spends (c − o) " + ("above" if skirt else "below") + " it + k"
        inputs = {"o": opens, "c": closes, **edge_inputs, **CRANK}
        yield "from_wheel", f"degree wheel, {moved} opening and closing", formula, inputs, from_pair
        return

    def from_one(r: FloatArray, z: FloatArray, k: FloatArray, *crank: FloatArray) -> FloatArray:
        return kinematics.depth_mm(r - z, *crank) + k

    inputs = {"r": readings[0], "z": WHEEL_ERROR, **edge_inputs, **CRANK}
    yield "from_wheel", f"degree wheel, {moved}", "x(r − z) + k", inputs, from_one


def derive_chamfer(w: Workings) -> str:
    return w.assume(CHAMFER, 0.0, "mm", "no chamfer measured on the crown's edge: taken as sharp")
