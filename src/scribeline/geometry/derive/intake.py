"""Card lines of the intake: opened by the skirt, by a rotary disc, or by a reed (which has no fixed timing)."""

import numpy as np

from scribeline.engine import EngineRecord, Port
from scribeline.geometry import kinematics, rotary_disc
from scribeline.geometry.derive.bottom_end import CRANK
from scribeline.geometry.derive.edges import WHEEL_ERROR, skirt_edge
from scribeline.geometry.derive.timing import summed_angle_area, time_areas
from scribeline.geometry.working import Workings


def derive_intake(w: Workings, record: EngineRecord) -> None:
    """Opening, closing, duration and time-area of the intake."""
    control = record.intake.control if record.intake else None
    ports = [
        p for p in record.ports if p.role == "intake" and w.knows(f"ports.{p.name}.angle_area_mm2_deg", skirt_edge(p))
    ]
    if control == "piston port" and ports:
        _by_skirt(w, ports)
    elif control == "rotary disc":
        _by_disc(w)
    else:
        why = "a reed opens by pressure, not by crank angle" if control == "reed" else "no intake timing in the record"
        for suffix, unit in (("duration_deg", "deg"), ("time_area_s_mm2", "s mm2")):
            w.lacks(f"intake_{suffix}", f"intake {suffix.split('_')[0]}", unit, why)


def _by_skirt(w: Workings, ports: list[Port]) -> None:
    edges: dict[str, str] = {}
    for n, port in enumerate(ports, start=1):
        edges |= {f"f{n}": f"ports.{port.name}.floor_depth_mm", f"k{n}": skirt_edge(port)}
    terms = [f"f{n} − k{n}" for n in range(1, len(ports) + 1)]
    w.derive(
        "intake_travel_mm",
        "piston travel from top dead centre during which the intake is open",
        "mm",
        terms[0] if len(terms) == 1 else f"max({', '.join(terms)})",
        edges,
        lambda *a: np.max([floor - skirt for floor, skirt in zip(a[::2], a[1::2], strict=True)], axis=0),
    )
    at = {"d": "intake_travel_mm", **CRANK}
    for suffix, label, formula, function in (
        ("opens_deg_atdc", "opens after top dead centre", "θ on the way up where x(θ) = d", kinematics.angle_up_deg),
        (
            "closes_deg_atdc",
            "closes after top dead centre",
            "θ on the way down where x(θ) = d",
            kinematics.angle_down_deg,
        ),
        ("duration_deg", "duration", "360 − θ up + θ down where x(θ) = d", kinematics.duration_above_deg),
    ):
        w.derive(f"intake_{suffix}", f"intake {label}", "deg", formula, at, function)
    summed_angle_area(w, "intake", [(f"ports.{port.name}.angle_area_mm2_deg", port.openings) for port in ports])
    time_areas(w, "intake", "the intake")


def _by_disc(w: Workings) -> None:
    for what in ("opens", "closes"):
        w.derive(
            f"intake_{what}_deg_atdc",
            f"intake {what} after top dead centre",
            "deg",
            "(r − z) round the circle",
            {"r": f"intake.disc.{what}_deg_atdc", "z": WHEEL_ERROR},
            lambda reading, zero: np.mod(reading - zero, 360.0),
        )
    disc = {"o": "intake_opens_deg_atdc", "c": "intake_closes_deg_atdc"}
    w.derive(
        "intake_duration_deg",
        "intake duration",
        "deg",
        "(c − o) round the circle",
        disc,
        rotary_disc.duration_deg,
    )
    w.derive(
        "intake_angle_area_mm2_deg",
        "intake angle-area of the disc-covered inlet",
        "mm2 deg",
        "∫ open area of a round inlet (diameter D at radius R) between the disc's edges, from o to c",
        {**disc, "D": "intake.disc.inlet_diameter_mm", "R": "intake.disc.inlet_centre_radius_mm"},
        rotary_disc.angle_area_mm2_deg,
        inner=True,
    )
    time_areas(w, "intake", "the intake")
