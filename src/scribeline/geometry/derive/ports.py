"""Card lines of each port: its edges, width and area, when it is open, and its time-area.

Numbers of a mirrored pair are those of one opening; sums over a group count both.
"""

from collections.abc import Mapping
from functools import lru_cache

import numpy as np

from scribeline.engine import INSTRUMENTS, EngineRecord, Port
from scribeline.geometry import kinematics, time_area, windows
from scribeline.geometry.derive.bottom_end import CRANK
from scribeline.geometry.derive.edges import (
    CHAMFER,
    derive_chamfer,
    derive_edges,
    derive_skirt_edge,
    derive_wheel,
    skirt_edge,
)
from scribeline.geometry.outline import outline_window
from scribeline.geometry.windows import OutlineWindow, RoundedWindow, Window
from scribeline.geometry.working import FloatArray, Workings


def derive_ports(w: Workings, record: EngineRecord) -> None:
    """Lines of every port that goes through the bore; a blind one is only recorded."""
    derive_wheel(w, record)
    for port in record.ports:
        if port.role == "blind":
            continue
        derive_skirt_edge(w, record, port)
        if derive_edges(w, port) and _width(w, record, port):
            _area(w, record, port)
            _open(w, port)


def _width(w: Workings, record: EngineRecord, port: Port) -> bool:
    """Width along the bore and straight across, from whichever was measured."""
    at = f"ports.{port.name}"
    ways = []
    if port.width_chord_mm is not None:
        w.derive(
            f"{at}.width_arc_mm.from_chord",
            f"{port.name}: width along the bore, from the chord",
            "mm",
            "B · asin(c / B)",
            {"c": f"{at}.width_chord_mm", "B": "cylinder.bore_mm"},
            windows.arc_from_chord_mm,
            inner=True,
        )
        ways.append((f"{at}.width_arc_mm.from_chord", "from the chord"))
    if port.width_arc_mm is not None:
        w.derive(
            f"{at}.width_arc_mm.measured",
            f"{port.name}: width along the bore, measured",
            "mm",
            "a",
            {"a": f"{at}.width_arc_mm"},
            lambda arc: arc,
            "measured",
            inner=True,
        )
        ways.append((f"{at}.width_arc_mm.measured", "measured along the bore"))
    if port.outline_mm:
        across = [point[0] for point in port.outline_mm]
        span = max(across) - min(across)
        growth = f"{at}.outline_growth_mm"
        # each of the two sides may be off by the +/- of a point
        width = (port.outline_plus_minus_mm or INSTRUMENTS["rubbing"]["mm"]) * 2.0**0.5
        w.assume(growth, 0.0, "mm", "how much wider than drawn the outline may be", width)
        w.derive(
            f"{at}.width_arc_mm.from_outline",
            f"{port.name}: width along the bore, from its outline",
            "mm",
            f"{span:g} + g",
            {"g": growth},
            lambda g: span + g,
            inner=True,
        )
        ways.append((f"{at}.width_arc_mm.from_outline", "from the outline"))
    if port.outline_mm:
        ways.reverse()
    arc = w.first_of(f"{at}.arc_mm", f"{port.name}: width along the bore", "mm", ways)
    if arc is None:
        return False
    w.derive(
        f"{at}.chord_mm",
        f"{port.name}: width straight across",
        "mm",
        "B · sin(a / B)",
        {"a": arc, "B": "cylinder.bore_mm"},
        windows.chord_from_arc_mm,
    )
    w.derive(
        f"{at}.half_angle_deg",
        f"{port.name}: angle round the bore from its middle to its side",
        "deg",
        "180/π · a / B",
        {"a": arc, "B": "cylinder.bore_mm"},
        lambda arc_mm, bore: np.degrees(arc_mm / bore),
        inner=True,
    )
    if port.bridge_mm is not None:
        w.derive(
            f"{at}.effective_width_mm",
            f"{port.name}: width straight across, less the bridge",
            "mm",
            "c − b",
            {"c": f"{at}.chord_mm", "b": f"{at}.bridge_mm"},
            lambda chord, bridge: chord - bridge,
        )
        w.derive(
            f"{at}.beside_bridge_mm",
            f"{port.name}: width straight across, either side of the bridge",
            "mm",
            "B · sin((a − b) / 2 / B)",
            {"a": arc, "b": f"{at}.bridge_mm", "B": "cylinder.bore_mm"},
            lambda arc_mm, bridge, bore: windows.chord_from_arc_mm(0.5 * (arc_mm - bridge), bore),
        )
    return True


def _window_inputs(w: Workings, port: Port) -> Mapping[str, str]:
    at = f"ports.{port.name}"
    inputs = {"w": f"{at}.arc_mm", "h": f"{at}.height_mm", "B": "cylinder.bore_mm"}
    if port.outline_mm:
        return inputs
    for symbol, edge in (("rr", "roof"), ("rf", "floor")):
        inputs[symbol] = w.assume(
            f"{at}.{edge}_corner_radius_mm", 0.0, "mm", f"no radius of the {edge} corners measured: taken as square"
        )
    if port.bridge_mm is not None:
        inputs["b"] = f"{at}.bridge_mm"
    return inputs


@lru_cache(maxsize=64)
def _tabled(outline_mm: tuple[tuple[float, float], ...], bridge_mm: float, bore_mm: float | None) -> OutlineWindow:
    """The table of an outline; it takes longer to make than the rest of a card, and what-ifs ask for it again."""
    return outline_window(np.array(outline_mm), bridge_mm=bridge_mm, bore_mm=bore_mm)


class PortShape:
    """The port's window made from the numbers that its area is worked out from, seen straight on or along the bore.

    An outline is tabled once as drawn; its areas are scaled by how much wider and taller than drawn it is.
    """

    def __init__(self, record: EngineRecord, port: Port) -> None:
        self.tabled: dict[bool, OutlineWindow] = {}
        if port.outline_mm:
            bore, bridge = record.cylinder.bore_mm.value, port.bridge_mm.value if port.bridge_mm else 0.0
            across = [point[0] for point in port.outline_mm]
            down = [point[1] for point in port.outline_mm]
            self.box_mm2 = (max(across) - min(across)) * (max(down) - min(down))
            for projected in (False, True):
                self.tabled[projected] = _tabled(port.outline_mm, bridge, bore if projected else None)

    def window(self, numbers: tuple[FloatArray, ...], projected: bool) -> tuple[Window, FloatArray | float]:
        """The window, and the factor its areas are to be multiplied by."""
        if self.tabled:
            return self.tabled[projected], numbers[0] * numbers[1] / self.box_mm2
        arc, height, bore, roof, floor, *rest = numbers
        bridge = rest[0] if rest else 0.0
        return RoundedWindow.fitting(arc, height, roof, floor, bridge, bore if projected else None), 1.0


def _area(w: Workings, record: EngineRecord, port: Port) -> None:
    at = f"ports.{port.name}"
    w.derive(
        f"{at}.height_mm",
        f"{port.name}: height",
        "mm",
        "f − r",
        {"f": f"{at}.floor_depth_mm", "r": f"{at}.roof_depth_mm"},
        lambda floor, roof: floor - roof,
    )
    inputs = _window_inputs(w, port)
    shape = PortShape(record, port)

    def whole(projected: bool):  # type: ignore[no-untyped-def]
        def compute(*numbers: FloatArray) -> FloatArray:
            window, factor = shape.window(numbers, projected)
            return windows.whole_area_mm2(window) * factor

        return compute

    seen = "∫ width(y) dy over the outline" if port.outline_mm else "∫ width(y) dy over a rounded rectangle"
    w.derive(f"{at}.area_mm2", f"{port.name}: area seen straight on", "mm2", f"{seen}, projected on the chord of B",
             inputs, whole(True))  # fmt: skip
    w.derive(f"{at}.area_unrolled_mm2", f"{port.name}: area along the bore", "mm2", f"{seen}, unrolled",
             inputs, whole(False), inner=True)  # fmt: skip
    skirt = port.role == "intake"
    if skirt and not w.knows(skirt_edge(port)):
        return
    edge = skirt_edge(port) if skirt else derive_chamfer(w)

    def angle_area(*numbers: FloatArray) -> FloatArray:
        *size, roof, k, stroke, rod, offset = numbers
        window, factor = shape.window(tuple(size), True)
        if skirt:
            return time_area.angle_area_above_mm2_deg(window, roof, k, stroke, rod, offset) * factor
        return time_area.angle_area_below_mm2_deg(window, roof - k, stroke, rod, offset) * factor

    w.derive(
        f"{at}.angle_area_mm2_deg",
        f"{port.name}: angle-area",
        "mm2 deg",
        f"∫ width(y) · angle that the {'skirt' if skirt else 'crown'} leaves y open dy, over the window",
        {**inputs, "r": f"{at}.roof_depth_mm", "k": edge, **CRANK},
        angle_area,
        inner=True,
    )
    w.derive(
        f"{at}.time_area_s_mm2",
        f"{port.name}: time-area",
        "s mm2",
        "Φ / (6 · N)",
        {"Φ": f"{at}.angle_area_mm2_deg", "N": "speed_rpm"},
        time_area.time_area_s_mm2,
        "definition",
    )


def derive_blowdown_area(w: Workings, record: EngineRecord, port: Port) -> bool:
    """Angle-area of an exhaust port until the transfers open; False where its window is not known."""
    at = f"ports.{port.name}"
    if not w.knows(f"{at}.angle_area_mm2_deg", "transfer_opens_deg_atdc"):
        return False
    shape = PortShape(record, port)
    inputs = _window_inputs(w, port)

    def blowdown(*numbers: FloatArray) -> FloatArray:
        *size, roof, k, until, stroke, rod, offset = numbers
        window, factor = shape.window(tuple(size), True)
        return time_area.blowdown_angle_area_mm2_deg(window, roof - k, until, stroke, rod, offset) * factor

    w.derive(
        f"{at}.blowdown_angle_area_mm2_deg",
        f"{port.name}: angle-area until the transfers open",
        "mm2 deg",
        "∫ width(y) · angle from the crown passing y on its way down until θt dy, over the window",
        {**inputs, "r": f"{at}.roof_depth_mm", "k": CHAMFER, "θt": "transfer_opens_deg_atdc", **CRANK},
        blowdown,
        inner=True,
    )
    return True


def _open(w: Workings, port: Port) -> None:
    """When this port opens and for how long."""
    at = f"ports.{port.name}"
    if port.role == "intake":
        return
    w.derive(
        f"{at}.open_depth_mm",
        f"{port.name}: roof below the crown's control edge at top dead centre",
        "mm",
        "r − k",
        {"r": f"{at}.roof_depth_mm", "k": derive_chamfer(w)},
        lambda roof, chamfer: roof - chamfer,
        inner=True,
    )
    crank = {"d": f"{at}.open_depth_mm", **CRANK}
    for name, label, formula, function in (
        (
            "opens_deg_atdc",
            "opens after top dead centre",
            "θ on the way down where x(θ) = d",
            kinematics.angle_down_deg,
        ),
        ("duration_deg", "duration", "θ up − θ down where x(θ) = d", kinematics.duration_below_deg),
    ):
        w.derive(f"{at}.{name}", f"{port.name}: {label}", "deg", formula, crank, function)
    w.derive(
        f"{at}.uncovered_height_mm",
        f"{port.name}: height uncovered at bottom dead centre",
        "mm",
        "min(h, s − d)",
        {"h": f"{at}.height_mm", "s": "true_stroke_mm", "d": f"{at}.open_depth_mm"},
        lambda height, stroke, depth: np.minimum(height, stroke - depth),
        inner=True,
    )
