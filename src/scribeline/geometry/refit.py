"""What moves when gaskets, deck, crown, skirt or the head's face change: pure functions from record to record.

Two numbers tell the whole story. Lifting the deck away from the crown by `deck_lift` changes the deck clearance, every
squish gap and the volume above the piston. Moving the ports away from the deck by `ports_drop` changes every height
measured from the deck. What is left over, `deck_lift − ports_drop`, is how far the ports rise past the crown, and with
it every height and angle measured from the crown. A base gasket lifts deck and ports together; decking the top of the
barrel lowers the deck onto the ports, which stay where they are against the crown.

The new record holds what one would expect to measure, not what was measured: check it on the metal before cutting on.
"""

from math import asin, degrees, hypot, pi
from typing import Literal

from scribeline.engine import EngineRecord, GasketSheet, Measured, Part, Port, Spec, Squish, judged_again
from scribeline.errors import GeometryError
from scribeline.geometry import kinematics


def change_base_gaskets(record: EngineRecord, sheets: tuple[GasketSheet, ...]) -> EngineRecord:
    """Fit another base gasket stack: the barrel and everything in it moves by the difference in thickness.

    Exhaust and transfers open earlier and stay open longer with more gasket, a piston-port intake shorter, squish and
    volume grow. The crankcase volume is left as it was.
    """
    lift, width = _difference(sheets, record.gaskets.base)
    new = _refitted(record, deck_lift=lift, ports_drop=0.0, width=width)
    return judged_again(new.model_copy(update={"gaskets": record.gaskets.model_copy(update={"base": sheets})}))


def change_head_gaskets(record: EngineRecord, sheets: tuple[GasketSheet, ...]) -> EngineRecord:
    """Fit another head gasket stack: squish and volume change, no port moves.

    Solder readings taken without the head gasket stay as they are: they never contained it.
    """
    lift, width = _difference(sheets, record.gaskets.head)
    new = _head_lifted(record, lift, width, without_gasket=False)
    return judged_again(new.model_copy(update={"gaskets": record.gaskets.model_copy(update={"head": sheets})}))


def deck_barrel_top(record: EngineRecord, removed_mm: float) -> EngineRecord:
    """Take `removed_mm` (0 or more) off the barrel's top: squish and volume shrink, no port moves past the crown."""
    _only_off(removed_mm)
    return judged_again(_refitted(record, deck_lift=-removed_mm, ports_drop=-removed_mm))


def deck_barrel_base(record: EngineRecord, removed_mm: float) -> EngineRecord:
    """Take `removed_mm` (0 or more) off the barrel's foot: the same as that much less base gasket."""
    _only_off(removed_mm)
    return judged_again(_refitted(record, deck_lift=-removed_mm, ports_drop=0.0))


def skim_crown(record: EngineRecord, removed_mm: float) -> EngineRecord:
    """Take `removed_mm` (0 or more) off the piston's crown edge: ports open earlier, the skirt's timing stays."""
    _only_off(removed_mm)
    new = _refitted(record, deck_lift=removed_mm, ports_drop=0.0, skirt_shorter=removed_mm)
    piston = new.piston.model_copy(
        update={
            key: moved(getattr(new.piston, key), -removed_mm, new.piston.spec(key))
            for key in ("compression_height_mm", "skirt_exhaust_side_mm", "skirt_intake_side_mm")
        }
    )
    cylinder = new.cylinder.model_copy(update={"deck_height_mm": record.cylinder.deck_height_mm})
    return judged_again(new.model_copy(update={"piston": piston, "cylinder": cylinder}))


def shorten_skirt(record: EngineRecord, removed_mm: float, side: Literal["exhaust", "intake"]) -> EngineRecord:
    """Take `removed_mm` (0 or more) off the bottom of the skirt on one side.

    On the intake side every wheel reading of an intake port that the skirt's own end opens moves with it; one under a
    cut-out keeps its readings, and so does every height, which is measured from deck or crown.
    """
    _only_off(removed_mm)
    key = f"skirt_{side}_side_mm"
    length = moved(getattr(record.piston, key), -removed_mm, record.piston.spec(key))
    ports = record.ports
    if side == "intake":
        ports = tuple(
            port
            if port.role != "intake" or cut_out_over(record, port)
            else _port_moved(record, port, 0, 0, 0, removed_mm)
            for port in ports
        )
    piston = record.piston.model_copy(update={key: length})
    return judged_again(record.model_copy(update={"piston": piston, "ports": ports}))


def face_head(record: EngineRecord, removed_mm: float) -> EngineRecord:
    """Take `removed_mm` (0 or more) off the head's gasket face and leave the squish band: the head comes down by it."""
    _only_off(removed_mm)
    new = _head_lifted(record, -removed_mm, 0.0, without_gasket=True)
    outer = record.head.squish_outer_mm or record.cylinder.bore_mm
    on_bench = {"chamber_on_bench_cc": -pi / 4 * outer.value**2 * removed_mm / 1000.0, "band_recess_mm": -removed_mm}
    head = new.head.model_copy(update=_with(record.head, on_bench, 0.0))
    return judged_again(new.model_copy(update={"head": head}))


def cut_out_over(record: EngineRecord, port: Port) -> bool:
    """Whether a cut-out in the skirt, open below, stands over the middle of this port."""
    bore = record.cylinder.bore_mm.value
    for opening in record.piston.openings:
        half_deg = degrees(asin(min(opening.width_mm.value / bore, 1.0)))
        apart = min(abs((opening.clock_deg.value - clock + 180.0) % 360.0 - 180.0) for clock in port.clocks_deg)
        if opening.bottom_from_crown_mm is None and apart <= half_deg:
            return True
    return False


def compressed_mm(sheets: tuple[GasketSheet, ...]) -> float:
    """Tightened thickness of a stack; a sheet never measured tightened counts with its nominal thickness."""
    return float(sum((sheet.compressed_mm or sheet.nominal_mm).value for sheet in sheets))


def _difference(new: tuple[GasketSheet, ...], old: tuple[GasketSheet, ...]) -> tuple[float, float]:
    """Change of thickness and its +/-; sheets common to both stacks stay in and add nothing."""
    changed = [sheet for sheet in new if sheet not in old] + [sheet for sheet in old if sheet not in new]
    width = hypot(*(_plus_minus(sheet) for sheet in changed)) if changed else 0.0
    return compressed_mm(new) - compressed_mm(old), width


def _plus_minus(sheet: GasketSheet) -> float:
    key = "nominal_mm" if sheet.compressed_mm is None else "compressed_mm"
    spec = sheet.spec(key)
    measured: Measured = getattr(sheet, key)
    return measured.resolved_plus_minus(spec) if spec else 0.0


def _only_off(removed_mm: float) -> None:
    if not removed_mm >= 0.0:
        raise GeometryError(
            f"removed_mm = {removed_mm:g} would add metal; accepted: 0 or more; what to do: a thicker gasket or a "
            "spacer moves the parts apart"
        )


def moved(measured: Measured | None, by: float, spec: Spec | None, width: float = 0.0) -> Measured | None:
    """A measured value moved by a known amount; its +/- grows by that of the amount."""
    if measured is None or spec is None or (by == 0.0 and width == 0.0):
        return measured
    grown = hypot(measured.resolved_plus_minus(spec), width)
    return measured.model_copy(update={"value": round(measured.value + by, 12), "plus_minus": grown, "typed": None})


def _with(part: Part, moves: dict[str, float], width: float) -> dict[str, Measured | None]:
    return {key: moved(getattr(part, key), by, part.spec(key), width) for key, by in moves.items()}


def _refitted(
    record: EngineRecord, deck_lift: float, ports_drop: float, width: float = 0.0, skirt_shorter: float = 0.0
) -> EngineRecord:
    raised = deck_lift - ports_drop
    new = _head_lifted(record, deck_lift, width, without_gasket=True)
    lifted = {"deck_clearance_at_tdc_mm": deck_lift, "deck_height_mm": deck_lift}
    cylinder = record.cylinder.model_copy(update=_with(record.cylinder, lifted, width))
    ports = tuple(_port_moved(record, port, raised, ports_drop, width, skirt_shorter) for port in record.ports)
    return new.model_copy(update={"cylinder": cylinder, "ports": ports})


def _head_lifted(record: EngineRecord, lift: float, width: float, *, without_gasket: bool) -> EngineRecord:
    """The head moves away from the crown: solder readings and the volume filled on the engine change."""
    area_mm2 = pi / 4 * record.cylinder.bore_mm.value**2
    filled = {"clearance_on_engine_cc": area_mm2 * lift / 1000.0}
    head = record.head.model_copy(update=_with(record.head, filled, area_mm2 * width / 1000.0))
    squish = record.squish
    if squish is not None and (squish.head_gasket_fitted or without_gasket):
        readings = tuple(r.model_copy(update=_with(r, {"gap_mm": lift}, width)) for r in squish.readings)
        squish = _thick_enough(squish.model_copy(update={"readings": readings}))
    return record.model_copy(update={"head": head, "squish": squish})


def _thick_enough(squish: Squish) -> Squish:
    """The same readings, taken with solder half as thick again as the widest gap where the old one would not reach."""
    widest = max(reading.gap_mm.value for reading in squish.readings)
    if widest < squish.solder_diameter_mm.value * squish.solder_folds:
        return squish
    solder = squish.solder_diameter_mm.model_copy(update={"value": 1.5 * widest / squish.solder_folds, "typed": None})
    return squish.model_copy(update={"solder_diameter_mm": solder})


def _port_moved(
    record: EngineRecord, port: Port, raised: float, ports_drop: float, width: float, skirt_shorter: float
) -> Port:
    """A port with its heights and angles moved; angles go through the exact slider-crank and back."""
    moves = {
        f"{edge}_{way}": by
        for edge in ("roof", "floor")
        for way, by in (("from_deck_mm", ports_drop), ("from_crown_tdc_mm", -raised), ("from_crown_bdc_mm", raised))
    }
    changed: dict[str, object] = dict(_with(port, moves, width))
    if ports_drop and port.outline_mm:
        changed["outline_mm"] = tuple((across, down + ports_drop) for across, down in port.outline_mm)
    past_edge = raised - skirt_shorter if port.role == "intake" else raised
    if past_edge:
        for edge in ("roof", "floor"):
            changed |= edge_readings_raised(record, port, edge, past_edge)
    return port.model_copy(update=changed)


def edge_readings_raised(record: EngineRecord, port: Port, edge: str, raised: float) -> dict[str, object]:
    """The wheel readings of an edge that has risen past the piston by `raised`.

    Opening and closing read together say how far the wheel was off at this edge, and stay that far off.
    """
    crank = (record.crank.stroke_mm.value, record.crank.rod_length_mm.value, _offset_mm(record))
    opens, closes = (getattr(port, f"{edge}_{what}_deg_atdc") for what in ("opens", "closes"))
    by_skirt = port.role == "intake"
    angle_open, angle_close = kinematics.angle_down_deg, kinematics.angle_up_deg
    depth_for = kinematics.depth_for_duration_below_mm
    if by_skirt:
        angle_open, angle_close, depth_for = angle_close, angle_open, kinematics.depth_for_duration_above_mm
    if opens is not None and closes is not None:
        depth = float(depth_for((closes.value - opens.value) % 360.0, *crank))
        off = opens.value - float(angle_open(depth, *crank))
    elif (only := opens or closes) is not None:
        off = wheel_error_deg(record)
        depth = float(kinematics.depth_mm(only.value - off, *crank))
    else:
        return {}
    new = {"opens": angle_open(depth - raised, *crank), "closes": angle_close(depth - raised, *crank)}
    turned: dict[str, object] = {}
    for what, reading in (("opens", opens), ("closes", closes)):
        if reading is not None:
            key = f"{edge}_{what}_deg_atdc"
            spec = port.spec(key)
            assert spec is not None
            value = (float(new[what]) + off) % 360.0
            plus_minus = reading.resolved_plus_minus(spec)
            turned[key] = reading.model_copy(update={"value": value, "plus_minus": plus_minus, "typed": None})
    return turned


def _offset_mm(record: EngineRecord) -> float:
    return record.crank.pin_offset_mm.value if record.crank.pin_offset_mm else 0.0


def wheel_error_deg(record: EngineRecord) -> float:
    """What the degree wheel reads at true top dead centre: 0 where it was set to zero."""
    wheel = record.degree_wheel
    if wheel is None or wheel.readings == "zeroed":
        return 0.0
    assert wheel.stop_turning_forwards_deg is not None
    assert wheel.stop_turning_back_deg is not None
    return float(
        kinematics.piston_stop_wheel_error_deg(
            wheel.stop_turning_forwards_deg.value,
            wheel.stop_turning_back_deg.value,
            record.crank.stroke_mm.value,
            record.crank.rod_length_mm.value,
            _offset_mm(record),
        )
    )
