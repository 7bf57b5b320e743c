"""Card lines of what is left standing: walls between ports, to studs and windows; ports against rings; the clutch."""

from itertools import combinations

import numpy as np

from scribeline.engine import EXHAUST_ROLES, TRANSFER_ROLES, EngineRecord, Port
from scribeline.engine.bottom_end import Studs
from scribeline.geometry.working import FloatArray, Workings

_OUTWARDS = (*EXHAUST_ROLES, "intake")


def derive_walls(w: Workings, record: EngineRecord) -> None:
    """The narrowest wall between two ports, the nearest stud, and how far below the top ring the ports begin."""
    ports = [port for port in record.ports if w.knows(f"ports.{port.name}.height_mm")]
    _least_land(w, ports)
    for face, studs in (("cylinder.base_studs", record.cylinder.base_studs), ("head.studs", record.head.studs)):
        if studs is not None:
            _studs(w, record, ports, face, studs)
    _below_ring(w, ports)
    _windows(w, record, ports)
    if record.drivetrain.clutch_engages_rpm is not None:
        w.derive(
            "speed_over_clutch_rpm",
            "this crank speed over the one where the clutch engages",
            "rpm",
            "N − Nc",
            {"N": "speed_rpm", "Nc": "drivetrain.clutch_engages_rpm"},
            lambda speed, clutch: speed - clutch,
            "definition",
        )
    if record.drivetrain.redline_rpm is not None:
        w.derive(
            "speed_under_redline_rpm",
            "this crank speed under the highest allowed",
            "rpm",
            "Nr − N",
            {"N": "speed_rpm", "Nr": "drivetrain.redline_rpm"},
            lambda speed, redline: redline - speed,
            "definition",
        )


def _least_land(w: Workings, ports: list[Port]) -> None:
    """Least distance between the frames of two ports on the unrolled bore; minus where they run into each other."""
    if sum(port.openings for port in ports) < 2:
        return
    inputs = {"B": "cylinder.bore_mm"}
    for n, port in enumerate(ports, start=1):
        at = f"ports.{port.name}"
        inputs |= {f"z{n}": f"{at}.clock_deg", f"a{n}": f"{at}.half_angle_deg"}
        inputs |= {f"r{n}": f"{at}.roof_depth_mm", f"f{n}": f"{at}.floor_depth_mm"}
    # every pair of openings that need be compared: a port with its own twin, and two ports on either side of the bore
    pairs = [(i, i, -1.0) for i, port in enumerate(ports) if port.mirrored]
    for (i, one), (j, other) in combinations(enumerate(ports), 2):
        pairs += [(i, j, 1.0), (i, j, -1.0)] if one.mirrored or other.mirrored else [(i, j, 1.0)]
    first, second = [pair[0] for pair in pairs], [pair[1] for pair in pairs]
    side = np.array([pair[2] for pair in pairs])

    def land(bore: FloatArray, *a: FloatArray) -> FloatArray:
        clock, half, roof, floor = (np.stack(a[k::4]) for k in range(4))
        sides = side.reshape(-1, *(1,) * bore.ndim)
        apart = _apart_deg(clock[first] - sides * clock[second])
        across = np.pi / 360.0 * bore * (apart - half[first] - half[second])
        down = np.maximum(roof[first] - floor[second], roof[second] - floor[first])
        beside = np.where((across > 0.0) & (down > 0.0), np.hypot(across, down), np.maximum(across, down))
        least: FloatArray = np.min(beside, axis=0)
        return least

    w.derive(
        "least_land_mm",
        "narrowest wall between two ports, along the bore",
        "mm",
        "least distance between two frames, z ± a wide and r to f high, on the unrolled bore of diameter B",
        inputs,
        land,
    )


def _apart_deg(difference: FloatArray) -> FloatArray:
    return np.abs((difference + 180.0) % 360.0 - 180.0)


def _studs(w: Workings, record: EngineRecord, ports: list[Port], face: str, studs: Studs) -> None:
    outwards = [port for port in ports if port.role in _OUTWARDS]
    if not outwards or not studs.clock_deg:
        return
    inputs = {"D": f"{face}.circle_diameter_mm", "d": f"{face}.hole_diameter_mm"}
    inputs |= {f"s{n}": f"{face}.clock_deg.{n}" for n in range(1, len(studs.clock_deg) + 1)}
    count = len(studs.clock_deg)
    for n, port in enumerate(outwards, start=1):
        inputs |= {f"z{n}": f"ports.{port.name}.clock_deg", f"c{n}": f"ports.{port.name}.chord_mm"}
    mirrored = [port.mirrored for port in outwards]

    def clearance(circle: FloatArray, hole: FloatArray, *a: FloatArray) -> FloatArray:
        stands, rest = a[:count], a[count:]
        least = np.full(np.shape(circle), np.inf)
        for clock, chord, pair in zip(rest[0::2], rest[1::2], mirrored, strict=True):
            for stud in stands:
                apart = _apart_deg(stud - clock)
                if pair:
                    apart = np.minimum(apart, _apart_deg(stud + clock))
                sideways = circle / 2.0 * np.sin(np.radians(np.minimum(apart, 90.0)))
                least = np.minimum(least, sideways - chord / 2.0 - hole / 2.0)
        return least

    where = "foot" if face.startswith("cylinder") else "head"
    w.derive(
        f"{where}_stud_clearance_mm",
        f"narrowest wall between a passage, straight out as wide as its port, and a stud of the {where}",
        "mm",
        "least of D/2 · sin(angle from s to z) − c/2 − d/2",
        inputs,
        clearance,
    )


def _below_ring(w: Workings, ports: list[Port]) -> None:
    crown = [port for port in ports if port.role in (*EXHAUST_ROLES, *TRANSFER_ROLES)]
    if not crown or not w.knows("piston.top_ring_from_crown_mm"):
        return
    roofs = {f"r{n}": f"ports.{port.name}.roof_depth_mm" for n, port in enumerate(crown, start=1)}
    w.derive(
        "highest_roof_below_ring_mm",
        "highest port roof below the top ring at top dead centre",
        "mm",
        (f"min({', '.join(roofs)})" if len(roofs) > 1 else "r1") + " − k",
        {**roofs, "k": "piston.top_ring_from_crown_mm"},
        lambda *a: np.min(np.asarray(a[:-1]), axis=0) - a[-1],
    )


def _windows(w: Workings, record: EngineRecord, ports: list[Port]) -> None:
    """Least wall between an opening in the skirt and an exhaust port, over the whole turn; minus where they meet.

    Where they meet, the exhaust stands open to the crankcase. A cut-out reaches down without end.
    """
    exhausts = [port for port in ports if port.role in EXHAUST_ROLES]
    openings = record.piston.openings
    if not exhausts or not openings:
        return
    inputs = {"B": "cylinder.bore_mm", "s": "true_stroke_mm"}
    for n, opening in enumerate(openings, start=1):
        at = f"piston.openings.{opening.name}"
        inputs |= {f"z{n}": f"{at}.clock_deg", f"c{n}": f"{at}.width_mm", f"t{n}": f"{at}.top_from_crown_mm"}
        if opening.bottom_from_crown_mm is not None:
            inputs[f"b{n}"] = f"{at}.bottom_from_crown_mm"
    for n, port in enumerate(exhausts, start=1):
        at = f"ports.{port.name}"
        inputs |= {f"Z{n}": f"{at}.clock_deg", f"a{n}": f"{at}.half_angle_deg"}
        inputs |= {f"r{n}": f"{at}.roof_depth_mm", f"f{n}": f"{at}.floor_depth_mm"}

    def clear(bore: FloatArray, stroke: FloatArray, *a: FloatArray) -> FloatArray:
        given = dict(zip(list(inputs)[2:], a, strict=True))
        least = np.full(np.shape(bore), np.inf)
        for i in range(1, len(openings) + 1):
            half_window = np.degrees(np.arcsin(np.minimum(given[f"c{i}"] / bore, 1.0)))
            lowest = given[f"b{i}"] + stroke if f"b{i}" in given else np.inf
            for k, port in enumerate(exhausts, start=1):
                down = np.maximum(given[f"t{i}"] - given[f"f{k}"], given[f"r{k}"] - lowest)
                for side in (1.0, -1.0) if port.mirrored else (1.0,):
                    apart = _apart_deg(given[f"z{i}"] - side * given[f"Z{k}"])
                    across = np.pi / 360.0 * bore * (apart - half_window - given[f"a{k}"])
                    both = (across > 0.0) & (down > 0.0)
                    beside = np.where(both, np.hypot(across, down), np.maximum(across, down))
                    least = np.minimum(least, beside)
        return least

    w.derive(
        "window_clear_of_exhaust_mm",
        "narrowest wall between an opening in the skirt and an exhaust port, over the whole turn",
        "mm",
        "least distance between what an opening sweeps, t to b + s deep, and a port, r to f deep, along the bore",
        inputs,
        clear,
    )
