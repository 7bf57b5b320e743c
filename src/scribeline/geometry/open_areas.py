"""Open area against crank angle of the engine as measured: a curve for exhaust, transfers and intake."""

import numpy as np

from scribeline.engine import EXHAUST_ROLES, TRANSFER_ROLES, Port
from scribeline.geometry import rotary_disc, time_area
from scribeline.geometry.derive.bottom_end import CRANK
from scribeline.geometry.derive.edges import CHAMFER, skirt_edge
from scribeline.geometry.derive.ports import PortShape
from scribeline.geometry.windows import Window
from scribeline.geometry.work_out import WorkedOut
from scribeline.geometry.working import FloatArray

GROUPS = {"exhaust": EXHAUST_ROLES, "transfer": TRANSFER_ROLES, "intake": ("intake",)}


def open_area_curves(out: WorkedOut, theta_deg: FloatArray) -> dict[str, FloatArray]:
    """Open area seen straight on, mm², all openings of a group together, at angles after top dead centre, deg.

    Groups that no crank angle opens (reeds) or that the record does not allow are left out.
    """
    curves: dict[str, FloatArray] = {}
    for group, roles in GROUPS.items():
        ports = [p for p in out.record.ports if p.role in roles and f"ports.{p.name}.angle_area_mm2_deg" in out.values]
        if ports and f"{group}_opens_deg_atdc" in out.values:
            curves[group] = np.sum([port.openings * port_open_area(out, port, theta_deg) for port in ports], axis=0)
    disc = out.record.intake.disc if out.record.intake else None
    if disc is not None:
        opens, closes = (_number(out, f"intake_{what}_deg_atdc") for what in ("opens", "closes"))
        diameter_mm, radius_mm = disc.inlet_diameter_mm.value, disc.inlet_centre_radius_mm.value
        curves["intake"] = rotary_disc.open_area_mm2(theta_deg, opens, closes, diameter_mm, radius_mm)
    return curves


def port_open_area(out: WorkedOut, port: Port, theta_deg: FloatArray) -> FloatArray:
    """Open area, mm², of one opening of a port at angles after top dead centre, deg."""
    if port.role == "intake":
        return area_under_skirt(out, port, theta_deg)
    window, factor, roof, crank = _placed(out, port)
    return time_area.open_area_by_crown_mm2(theta_deg, window, roof - _number(out, CHAMFER), *crank) * factor


def area_under_skirt(out: WorkedOut, port: Port, theta_deg: FloatArray) -> FloatArray:
    """Area, mm², of one opening of a port below the piston's skirt: how an intake opens, and how an exhaust may leak
    into the crankcase near top dead centre. The skirt's edge over the port must be known."""
    window, factor, roof, crank = _placed(out, port)
    skirt = _number(out, skirt_edge(port))
    return time_area.open_area_by_skirt_mm2(theta_deg, window, roof, skirt, *crank) * factor


def _placed(out: WorkedOut, port: Port) -> tuple[Window, FloatArray | float, FloatArray, tuple[FloatArray, ...]]:
    at = f"ports.{port.name}"
    size = tuple(_number(out, name) for name in out.values[f"{at}.area_mm2"].inputs.values())
    window, factor = PortShape(out.record, port).window(size, projected=True)
    return window, factor, _number(out, f"{at}.roof_depth_mm"), tuple(_number(out, name) for name in CRANK.values())


def _number(out: WorkedOut, name: str) -> FloatArray:
    """The number as measured, without its draws."""
    return np.asarray(out.samples[name][0])
