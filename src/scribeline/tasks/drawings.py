"""The drawings of an engine, filled in from what was worked out; how they are drawn stands in `marking`."""

from collections.abc import Iterator

import numpy as np

from scribeline.engine import EXHAUST_ROLES, EngineRecord, Measured, Port
from scribeline.geometry.open_areas import open_area_curves
from scribeline.geometry.work_out import WorkedOut
from scribeline.marking.area_plot import AreaCurve, AreaPlot, area_plot
from scribeline.marking.bore_view import Bore, bore_view
from scribeline.marking.dial_view import Dial, Window, dial_view
from scribeline.marking.pipe_view import Pipe, PipeSection, pipe_view
from scribeline.marking.port_outline import PortKind, PortOutline
from scribeline.marking.section_view import Section, WallOpening, section_view
from scribeline.marking.shapes import Drawing
from scribeline.marking.squish_detail import SquishBand
from scribeline.units import Units


def engine_drawings(out: WorkedOut, units: Units = "mm") -> Iterator[Drawing]:
    """Every drawing that this record allows, in the order of the card. units : what lengths in them are read in"""
    made = (bore(out, units), timing(out), section(out, units=units), areas(out), pipe(out, units))
    yield from (drawing for drawing in made if drawing is not None)


def bore(out: WorkedOut, units: Units = "mm") -> Drawing | None:
    """The unrolled bore with every port, or None where no port's place is known."""
    filled = bore_of(out, units)
    return None if filled is None else bore_view(filled)


def bore_of(out: WorkedOut, units: Units = "mm") -> Bore | None:
    """The bore with every port, or None where no port's place is known."""
    deck = _known(out, "deck_clearance_mm")
    outlines = tuple(_outline(out, port, deck or 0.0) for port in _drawable(out))
    if not outlines or deck is None:
        return None
    piston = out.record.piston
    exhaust_skirt, intake_skirt = (
        _value(skirt) for skirt in (piston.skirt_exhaust_side_mm, piston.skirt_intake_side_mm)
    )
    return Bore(
        bore_mm=out.record.cylinder.bore_mm.value,
        ports=outlines,
        crown_at_tdc_mm=deck,
        crown_at_bdc_mm=deck + _need(out, "true_stroke_mm"),
        skirt_exhaust_side_at_tdc_mm=None if exhaust_skirt is None else deck + exhaust_skirt,
        skirt_intake_side_at_tdc_mm=None if intake_skirt is None else deck + intake_skirt,
        ring_pegs_deg=tuple(peg.value for peg in out.record.cylinder.ring_pegs_deg),
        units=units,
    )


def timing(out: WorkedOut) -> Drawing | None:
    """The timing dial: exhaust, transfers, intake, blowdown, spark."""
    dial = dial_of(out)
    return None if dial is None else dial_view(dial)


def dial_of(out: WorkedOut) -> Dial | None:
    """What the timing dial shows, or None where no window is known."""
    windows = windows_of(out)
    return Dial(windows, advance_deg(out.record), _need(out, "bdc_after_tdc_deg")) if windows else None


def windows_of(out: WorkedOut) -> tuple[Window, ...]:
    """When exhaust, transfers and intake are open, each as one."""
    return tuple(
        Window(name, kind, _need(out, f"{name}_opens_deg_atdc"), _need(out, f"{name}_closes_deg_atdc"))
        for name, kind in _GROUPS
        if _known(out, f"{name}_opens_deg_atdc") is not None
    )


def advance_deg(record: EngineRecord) -> float | None:
    """When the spark comes at the record's speed: the one value, or between two points of the table, never beyond."""
    points = sorted((point.rpm, point.advance_deg) for point in record.ignition.table)
    if record.ignition.advance_deg is not None or not points:
        return _value(record.ignition.advance_deg)
    if not points[0][0] <= record.speed_rpm <= points[-1][0]:
        return None
    return float(np.interp(record.speed_rpm, [rpm for rpm, _ in points], [advance for _, advance in points]))


_CUT_DEG = 10.0  # a port whose middle is this near to the section is drawn as cut
_GROUPS: tuple[tuple[str, PortKind], ...] = (("exhaust", "exhaust"), ("transfer", "transfer"), ("intake", "intake"))


def section(out: WorkedOut, crank_deg_atdc: float = 60.0, units: Units = "mm") -> Drawing | None:
    """Section through cylinder, piston and head; what was not measured is drawn for orientation and said so."""
    filled = section_of(out, crank_deg_atdc, units)
    return None if filled is None else section_view(filled)


def section_of(out: WorkedOut, crank_deg_atdc: float = 0.0, units: Units = "mm") -> Section | None:
    """What the section shows, or None where nobody knows where the deck stands."""
    deck = _known(out, "deck_clearance_mm")
    if deck is None:
        return None
    record = out.record
    stroke, bore_mm = record.crank.stroke_mm.value, record.cylinder.bore_mm.value
    assumed = ["plug hole"]

    def or_typical(measured: Measured | None, typical: float, words: str) -> float:
        if measured is None:
            assumed.append(words)
            return typical
        return measured.value

    shape = record.head.shape
    piston = record.piston
    return Section(
        bore_mm=bore_mm,
        stroke_mm=stroke,
        rod_length_mm=record.crank.rod_length_mm.value,
        compression_height_mm=or_typical(piston.compression_height_mm, 0.6 * bore_mm, "compression height"),
        skirt_exhaust_side_mm=or_typical(piston.skirt_exhaust_side_mm, 1.1 * bore_mm, "skirt, exhaust side"),
        skirt_intake_side_mm=or_typical(piston.skirt_intake_side_mm, 1.1 * bore_mm, "skirt, intake side"),
        deck_clearance_mm=deck,
        head_gasket_mm=_need(out, "head_gasket_mm"),
        chamber_depth_mm=or_typical(shape.depth_mm if shape else None, 0.2 * bore_mm, "chamber shape"),
        chamber_floor_mm=(_value(shape.floor_diameter_mm) or 0.0) if shape else 0.0,
        dome_height_mm=_value(piston.dome_height_mm) or 0.0,
        pin_offset_mm=_value(record.crank.pin_offset_mm) or 0.0,
        crank_deg_atdc=crank_deg_atdc,
        band=_band(out),
        openings=tuple(_wall_openings(out, deck)),
        assumed=tuple(assumed),
        units=units,
    )


def areas(out: WorkedOut) -> Drawing | None:
    """Open area against crank angle."""
    curves = area_curves(out)
    return area_plot(AreaPlot(curves)) if curves else None


def area_curves(out: WorkedOut, step_deg: float = 0.5) -> tuple[AreaCurve, ...]:
    """Open area of exhaust, transfers and intake against crank angle, each as one."""
    theta = np.arange(0.0, 360.0, step_deg)
    curves = open_area_curves(out, theta)
    drawn = []
    for name, kind in _GROUPS:
        if name not in curves:
            continue
        opens, closes = (_known(out, f"{name}_{what}_deg_atdc") for what in ("opens", "closes"))
        if opens is not None and closes is not None:
            drawn.append(AreaCurve(name, kind, theta.tolist(), curves[name].tolist(), opens, closes))
    return tuple(drawn)


def pipe(out: WorkedOut, units: Units = "mm") -> Drawing | None:
    """The exhaust pipe to scale."""
    filled = pipe_of(out.record, units)
    return None if filled is None else pipe_view(filled)


def pipe_of(record: EngineRecord, units: Units = "mm") -> Pipe | None:
    """The exhaust pipe's sections, or None where there is none."""
    exhaust = record.exhaust
    if exhaust is None:
        return None
    return Pipe(
        tuple(
            PipeSection(
                one.name or f"section {number}",
                one.length_mm.value,
                one.start_mm.value,
                one.end_mm.value,
                _value(one.bend_deg) or 0.0,
            )
            for number, one in enumerate(exhaust.sections, start=1)
        ),
        units=units,
    )


def _value(measured: Measured | None) -> float | None:
    return None if measured is None else measured.value


def _known(out: WorkedOut, name: str) -> float | None:
    worked = out.values.get(name)
    return None if worked is None else worked.value


def _need(out: WorkedOut, name: str) -> float:
    value = _known(out, name)
    assert value is not None, name
    return value


def _drawable(out: WorkedOut) -> Iterator[Port]:
    """Ports whose edges and width are known."""
    return (port for port in out.record.ports if _known(out, f"ports.{port.name}.area_mm2") is not None)


def _outline(out: WorkedOut, port: Port, deck: float) -> PortOutline:
    at = f"ports.{port.name}"
    kind: PortKind = "exhaust" if port.role in EXHAUST_ROLES else "intake" if port.role == "intake" else "transfer"
    return PortOutline(
        name=port.name,
        kind=kind,
        clock_deg=port.clock_deg.value,
        roof_depth_mm=deck + _need(out, f"{at}.roof_depth_mm"),
        floor_depth_mm=deck + _need(out, f"{at}.floor_depth_mm"),
        width_arc_mm=_need(out, f"{at}.arc_mm"),
        roof_corner_radius_mm=_value(port.roof_corner_radius_mm) or 0.0,
        floor_corner_radius_mm=_value(port.floor_corner_radius_mm) or 0.0,
        outline_mm=port.outline_mm,
        bridge_mm=_value(port.bridge_mm) or 0.0,
        mirrored=port.mirrored,
        opens_deg_atdc=_known(out, "intake_opens_deg_atdc" if kind == "intake" else f"{at}.opens_deg_atdc"),
    )


def _band(out: WorkedOut) -> SquishBand | None:
    head, gap = out.record.head, _known(out, "squish_gap_mm")
    if head.squish_inner_mm is None or gap is None:
        return None
    bore_mm = out.record.cylinder.bore_mm.value
    return SquishBand(
        gap_mm=gap,
        inner_mm=head.squish_inner_mm.value,
        outer_mm=min(_value(head.squish_outer_mm) or bore_mm, bore_mm),
        band_angle_deg=_value(head.band_angle_deg) or 0.0,
        crown_angle_deg=_value(head.crown_angle_deg) or 0.0,
    )


def _wall_openings(out: WorkedOut, deck: float) -> Iterator[WallOpening]:
    """Ports that a section through exhaust and intake side cuts."""
    for port in _drawable(out):
        for clock in port.clocks_deg:
            if min(clock % 180.0, 180.0 - clock % 180.0) < _CUT_DEG:
                roof, floor = (deck + _need(out, f"ports.{port.name}.{edge}_depth_mm") for edge in ("roof", "floor"))
                yield WallOpening(port.name, "exhaust" if min(clock, 360.0 - clock) < 90.0 else "intake", roof, floor)
