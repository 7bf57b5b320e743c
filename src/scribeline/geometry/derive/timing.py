"""Card lines of the engine's timing as a whole: exhaust, transfers, blowdown, and edges that open the wrong port."""

from collections.abc import Sequence
from functools import reduce

import numpy as np

from scribeline.engine import EXHAUST_ROLES, TRANSFER_ROLES, EngineRecord
from scribeline.geometry import kinematics, time_area
from scribeline.geometry.derive.bottom_end import CRANK
from scribeline.geometry.derive.edges import skirt_edge
from scribeline.geometry.derive.ports import derive_blowdown_area
from scribeline.geometry.working import FloatArray, Workings

_GROUPS = (("exhaust", EXHAUST_ROLES), ("transfer", TRANSFER_ROLES))


def derive_timing(w: Workings, record: EngineRecord) -> None:
    """Opening, closing, duration and time-area of exhaust and transfers, blowdown between them."""
    for group, roles in _GROUPS:
        names = [p.name for p in record.ports if p.role in roles and w.knows(f"ports.{p.name}.open_depth_mm")]
        if names:
            _group(w, record, group, names)
        else:
            for suffix, unit in (("opens_deg_atdc", "deg"), ("duration_deg", "deg"), ("time_area_s_mm2", "s mm2")):
                why = f"no {group} port whose roof, floor and width are known"
                w.lacks(f"{group}_{suffix}", f"{group} {suffix.split('_')[0]}", unit, why)
    if w.knows("exhaust_opens_deg_atdc", "transfer_opens_deg_atdc"):
        _blowdown(w, record)
    else:
        for name, unit in (("blowdown_deg", "deg"), ("blowdown_time_area_s_mm2", "s mm2")):
            w.lacks(name, "blowdown", unit, "exhaust or transfer timing is not known")
    _widest_exhaust(w, record)
    _wrong_edges(w, record)


def _widest_exhaust(w: Workings, record: EngineRecord) -> None:
    """Straight width of the widest single exhaust opening over the bore; side ports support their rings themselves.

    A bridge supports them, too: beside one each half counts for itself.
    """
    name, label = "exhaust_width_share_of_bore", "widest exhaust port, straight across, over the bore"
    chords = [
        f"ports.{port.name}.{'beside_bridge_mm' if port.bridge_mm and port.bridge_mm.value > 0.0 else 'chord_mm'}"
        for port in record.ports
        if port.role == "exhaust"
    ]
    widths = {f"c{n}": chord for n, chord in enumerate((c for c in chords if w.knows(c)), start=1)}
    if not widths:
        w.lacks(name, label, "share", "no exhaust port whose width and edges are known")
        return
    formula = ("c1" if len(widths) == 1 else f"max({', '.join(widths)})") + " / B"
    w.derive(
        name,
        label,
        "share",
        formula,
        {**widths, "B": "cylinder.bore_mm"},
        lambda *a: reduce(np.maximum, a[:-1]) / a[-1],
        "definition",
    )


def _group(w: Workings, record: EngineRecord, group: str, names: Sequence[str]) -> None:
    depths = {f"d{n}": f"ports.{name}.open_depth_mm" for n, name in enumerate(names, start=1)}
    listed = ", ".join(depths)
    one = len(names) == 1
    w.derive(
        f"{group}_open_depth_mm",
        f"highest {group} roof below the crown's control edge at top dead centre",
        "mm",
        listed if one else f"min({listed})",
        depths,
        lambda *d: reduce(np.minimum, d),
        inner=True,
    )
    at = {"d": f"{group}_open_depth_mm", **CRANK}
    for suffix, label, formula, function in (
        (
            "opens_deg_atdc",
            "opens after top dead centre",
            "θ on the way down where x(θ) = d",
            kinematics.angle_down_deg,
        ),
        ("closes_deg_atdc", "closes after top dead centre", "θ on the way up where x(θ) = d", kinematics.angle_up_deg),
        ("duration_deg", "duration", "θ up − θ down where x(θ) = d", kinematics.duration_below_deg),
    ):
        w.derive(f"{group}_{suffix}", f"{group} {label}", "deg", formula, at, function)
    if not one:
        w.derive(
            f"{group}_stagger_deg",
            f"{group} stagger: last to open after first to open",
            "deg",
            f"θ(max({listed})) − θ(min({listed})) on the way down",
            {**depths, **CRANK},
            lambda *a: (
                kinematics.angle_down_deg(reduce(np.maximum, a[:-3]), *a[-3:])
                - kinematics.angle_down_deg(reduce(np.minimum, a[:-3]), *a[-3:])
            ),
        )
    openings = {p.name: p.openings for p in record.ports}
    summed_angle_area(w, group, [(f"ports.{name}.angle_area_mm2_deg", openings[name]) for name in names])
    time_areas(w, group, f"{group}, all openings")


def summed_angle_area(w: Workings, group: str, parts: Sequence[tuple[str, int]]) -> None:
    """Angle-area of a group from that of each port and how many openings the bore has of it."""
    symbols = {f"A{n}": name for n, (name, _) in enumerate(parts, start=1)}
    counts = [count for _, count in parts]
    terms = [f"{count} · {symbol}" if count > 1 else symbol for symbol, count in zip(symbols, counts, strict=True)]

    def total(*areas: FloatArray) -> FloatArray:
        return np.asarray(sum(count * area for count, area in zip(counts, areas, strict=True)))

    label = f"{group} angle-area, all openings"
    w.derive(f"{group}_angle_area_mm2_deg", label, "mm2 deg", " + ".join(terms), symbols, total, inner=True)


def time_areas(w: Workings, group: str, label: str) -> None:
    """Time-area and specific time-area of a group whose angle-area is known."""
    w.derive(
        f"{group}_time_area_s_mm2",
        f"time-area of {label}",
        "s mm2",
        "Φ / (6 · N)",
        {"Φ": f"{group}_angle_area_mm2_deg", "N": "speed_rpm"},
        time_area.time_area_s_mm2,
        "definition",
    )
    w.derive(
        f"{group}_specific_time_area_s_per_m",
        f"specific time-area of {label}",
        "s/m",
        "T / V",
        {"T": f"{group}_time_area_s_mm2", "V": "swept_volume_cc"},
        time_area.specific_time_area_s_per_m,
        "definition",
    )


def _blowdown(w: Workings, record: EngineRecord) -> None:
    w.derive(
        "blowdown_deg",
        "blowdown: exhaust opens before the transfers",
        "deg",
        "θt − θe",
        {"θt": "transfer_opens_deg_atdc", "θe": "exhaust_opens_deg_atdc"},
        lambda transfer, exhaust: transfer - exhaust,
    )
    w.derive(
        "blowdown_by_duration_deg",
        "blowdown by duration: half the difference of the durations",
        "deg",
        "(De − Dt) / 2",
        {"De": "exhaust_duration_deg", "Dt": "transfer_duration_deg"},
        lambda exhaust, transfer: (exhaust - transfer) / 2.0,
        "common-practice",
    )
    parts = []
    for port in record.ports:
        if port.role in EXHAUST_ROLES and derive_blowdown_area(w, record, port):
            parts.append((f"ports.{port.name}.blowdown_angle_area_mm2_deg", port.openings))
    summed_angle_area(w, "blowdown", parts)
    time_areas(w, "blowdown", "the blowdown")


def _wrong_edges(w: Workings, record: EngineRecord) -> None:
    """How far a port lies open to the side of the piston it should never see."""
    covered: dict[str, str] = {}
    for n, port in enumerate(record.ports, start=1):
        if port.role in EXHAUST_ROLES and w.knows(f"ports.{port.name}.floor_depth_mm", skirt_edge(port)):
            covered |= {f"f{n}": f"ports.{port.name}.floor_depth_mm", f"k{n}": skirt_edge(port)}
    if covered:
        terms = [f"{floor} − {skirt}" for floor, skirt in zip(list(covered)[::2], list(covered)[1::2], strict=True)]
        w.derive(
            "exhaust_open_under_skirt_mm",
            "exhaust port below the skirt at top dead centre (minus: covered by so much)",
            "mm",
            terms[0] if len(terms) == 1 else f"max({', '.join(terms)})",
            covered,
            lambda *a: np.max([floor - skirt for floor, skirt in zip(a[::2], a[1::2], strict=True)], axis=0),
        )
    roofs = {
        f"r{n}": f"ports.{p.name}.roof_depth_mm"
        for n, p in enumerate(record.ports, start=1)
        if p.role == "intake" and w.knows(f"ports.{p.name}.roof_depth_mm")
    }
    if roofs:
        w.derive(
            "intake_open_above_crown_mm",
            "intake port above the crown at bottom dead centre (minus: covered by so much)",
            "mm",
            "s − " + (f"min({', '.join(roofs)})" if len(roofs) > 1 else next(iter(roofs))),
            {**roofs, "s": "true_stroke_mm"},
            lambda *a: a[-1] - reduce(np.minimum, a[:-1]),
        )
