"""Card lines of the space above the piston: chamber, clearance volume, compression."""

from collections.abc import Callable

from scribeline.engine import EngineRecord
from scribeline.geometry import head_shape, volumes
from scribeline.geometry.working import FloatArray, Workings


def derive_chamber(w: Workings, record: EngineRecord) -> None:
    """The volume left at top dead centre, by each way it was measured, and the geometric compression ratio."""
    ways = []
    head = record.head
    if head.clearance_on_engine_cc is not None:
        w.assume("head.plug_thread_cc", 0.0, "cc", "no plug volume given: the reading is taken as it stands")
        w.derive(
            "clearance_on_engine_cc",
            "clearance volume, filled on the engine",
            "cc",
            "V − p",
            {"V": "head.clearance_on_engine_cc", "p": "head.plug_thread_cc"},
            lambda reading, plug: reading - plug,
            "measured",
            inner=True,
        )
        ways.append(("clearance_on_engine_cc", "filled on the engine"))
    if w.knows("deck_clearance_mm"):
        if head.chamber_on_bench_cc is not None:
            w.derive(
                "chamber_on_bench_cc",
                "chamber above the head's gasket face, filled on the bench",
                "cc",
                "V",
                {"V": "head.chamber_on_bench_cc"},
                lambda reading: reading,
                "measured",
                inner=True,
            )
            ways.append(
                (_clearance_from_parts(w, record, "chamber_on_bench_cc", "bench"), "chamber on the bench + deck")
            )
        if head.shape is not None and (chamber := _chamber_from_shape(w, record)):
            ways.append((_clearance_from_parts(w, record, chamber, "shape"), "chamber from its shape + deck"))
    if w.first_of("clearance_volume_cc", "volume above the piston at top dead centre", "cc", ways) is None:
        w.lacks(
            "compression_ratio_geometric",
            "compression ratio, geometric",
            "ratio",
            "no chamber volume: fill the head or give its shape, with the deck clearance",
        )
        return
    w.derive(
        "compression_ratio_geometric",
        "compression ratio, geometric",
        "ratio",
        "(V + Vc) / Vc",
        {"V": "swept_volume_cc", "Vc": "clearance_volume_cc"},
        volumes.compression_ratio,
        "definition",
    )
    if not w.knows("exhaust_open_depth_mm"):
        for name, unit in (("trapped_volume_cc", "cc"), ("compression_ratio_trapped", "ratio")):
            w.lacks(name, "trapped volume and compression", unit, "no exhaust port whose edges are known")
        return
    w.derive(
        "trapped_volume_cc",
        "volume when the exhaust closes",
        "cc",
        "A · d / 1000 + Vc",
        {"A": "bore_area_mm2", "d": "exhaust_open_depth_mm", "Vc": "clearance_volume_cc"},
        lambda area, depth, clearance: area * depth / 1000.0 + clearance,
    )
    w.derive(
        "compression_ratio_trapped",
        "compression ratio from exhaust closing",
        "ratio",
        "Vt / Vc",
        {"Vt": "trapped_volume_cc", "Vc": "clearance_volume_cc"},
        lambda trapped, clearance: trapped / clearance,
        "definition",
    )


def _clearance_from_parts(w: Workings, record: EngineRecord, chamber: str, way: str) -> str:
    """Chamber + head gasket + deck clearance − what stands above the crown's edge."""
    inputs = {"Vk": chamber, "A": "bore_area_mm2", "g": "head_gasket_mm", "c": "deck_clearance_mm"}
    formula = "Vk + A · (g + c) / 1000"
    if record.piston.crown == "dome":
        inputs |= {"h": "piston.dome_height_mm", "B": "cylinder.bore_mm"}
        formula += " − π/6 · h · (3/4 · B² + h²) / 1000"
    elif record.piston.crown == "deflector":
        inputs |= {"D": "piston.deflector_volume_cc"}
        formula += " − D"

    def compute(chamber_cc, area_mm2, gasket_mm, deck_mm, *crown):  # type: ignore[no-untyped-def]
        volume = chamber_cc + area_mm2 * (gasket_mm + deck_mm) / 1000.0
        if record.piston.crown == "dome":
            height_mm, bore_mm = crown
            return volume - volumes.dome_volume_cc(bore_mm, height_mm)
        return volume - crown[0] if crown else volume

    return w.derive(
        f"clearance_from_{way}_cc",
        f"clearance volume, chamber by {way} and deck",
        "cc",
        formula,
        inputs,
        compute,
        inner=True,
    )


def _chamber_from_shape(w: Workings, record: EngineRecord) -> str | None:
    """Volume above the head's gasket face from the shape's dimensions and the squish band."""
    shape = record.head.shape
    if shape is None or record.head.squish_inner_mm is None:
        return None
    w.assume("head.band_recess_mm", 0.0, "mm", "no band recess measured: band taken as level with the gasket face")
    w.assume("head.band_angle_deg", 0.0, "deg", "no band angle measured: band taken as flat")
    w.assume("head.shape.step_mm", 0.0, "mm", "no step measured below the chamber: taken as none")
    band = {
        "B": "cylinder.bore_mm",
        "Di": "head.squish_inner_mm",
        "u": "head.band_recess_mm",
        "β": "head.band_angle_deg",
        "k": "head.shape.step_mm",
    }
    own = {"H": "head.shape.depth_mm"}
    body: Callable[..., FloatArray]
    if shape.kind == "bathtub":
        w.assume("head.shape.corner_radius_mm", 0.0, "mm", "no corner radius measured: taken as sharp corners")
        own |= {"L": "head.shape.length_mm", "W": "head.shape.width_mm", "R": "head.shape.corner_radius_mm"}
        body = head_shape.bathtub_volume_cc
        formula = "H · (L · W − (4 − π) · R²)"
    elif shape.kind == "bowl":
        own |= {"Dm": "head.shape.mouth_diameter_mm", "Df": "head.shape.floor_diameter_mm"}
        body = head_shape.bowl_volume_cc
        formula = "π/12 · H · (Dm² + Dm·Df + Df²)"
    else:
        own |= {"Dm": "head.shape.mouth_diameter_mm"}
        body = head_shape.dome_chamber_volume_cc
        formula = "π/6 · H · (3/4 · Dm² + H²)"

    def compute(bore, inner, recess, angle, step, *dimensions):  # type: ignore[no-untyped-def]
        band_cc = head_shape.band_volume_cc(bore, inner, recess, angle)
        rise_mm = recess + head_shape.band_rise_mm(bore, inner, angle)
        mouth_cc = volumes.bore_area_mm2(inner) * (rise_mm + step) / 1000.0
        return band_cc + mouth_cc + body(*dimensions)

    return w.derive(
        "chamber_from_shape_cc",
        "chamber above the head's gasket face, from its shape",
        "cc",
        f"band(B, Di, u, β) + π/4 · Di² · (u + (B − Di)/2 · tan β + k) + {formula}",
        {**band, **own},
        compute,
        inner=True,
    )
