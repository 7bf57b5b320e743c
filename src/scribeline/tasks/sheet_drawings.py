"""The sheets of an engine, filled in from its record and its plan; how they look stands in `marking`."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from scribeline.data.handbook import handbook
from scribeline.engine import EngineRecord, GasketSheet
from scribeline.engine.bottom_end import Studs
from scribeline.errors import SheetError
from scribeline.geometry import kinematics
from scribeline.geometry.pipe_design import sections_of
from scribeline.geometry.windows import arc_from_chord_mm
from scribeline.geometry.work_out import WorkedOut
from scribeline.marking.bore_view import Bore
from scribeline.marking.cut_list import cut_list_drawings
from scribeline.marking.gasket_view import Gasket, StudCircle, gasket_drawing
from scribeline.marking.head_profile import Chamber, HeadProfile, HeadShape, enlarged_drawing, head_drawing
from scribeline.marking.page import room
from scribeline.marking.paper import Paper
from scribeline.marking.port_outline import PortOutline
from scribeline.marking.rubbing_wrap import rubbing_wrap_drawing
from scribeline.marking.shapes import Drawing
from scribeline.marking.sheet import Sheet
from scribeline.marking.squish_card import SquishCard, squish_card
from scribeline.marking.stop_line import stop_outline
from scribeline.marking.wheel import Wheel, wheel_drawing
from scribeline.marking.wrap import Wrap, wrap_drawing
from scribeline.plan.cut_list import margin_mm
from scribeline.plan.description import Stage
from scribeline.sources import source
from scribeline.tasks.cut_rows import printed_cut_list
from scribeline.tasks.drawings import advance_deg, bore_of, windows_of
from scribeline.tasks.pipe_sheets import pipe_sheets
from scribeline.tasks.sheet_wishes import Wishes, Worked
from scribeline.units import Units, length, with_inches

SHEETS: dict[str, str] = {
    "bore-wrap": "the bore as a template to scratch along, hanging from the deck",
    "bore-wrap-mirrored": "the same mirrored: printed face against the wall, or round a sleeve",
    "bore-wrap-crown": "the same standing on the piston at bottom dead centre, with crank degrees",
    "rubbing-wrap": "paper with markers, to rub the ports on and photograph",
    "cut-list": "heights, widths, boxes for what was measured, the work in its order, cautions",
    "degree-wheel": "degree wheels with this engine's timing",
    "head-gasket": "the head gasket as a part to cut",
    "base-gasket": "the base gasket as a part to cut",
    "squish-card": "where the solder goes, and boxes for what it says",
    "head-profile": "squish band and chamber at full size",
    "head-profile-enlarged": "the same enlarged, to read and not to measure",
    "pipe": "the exhaust pipe: put together, its pieces as flat patterns, sheets of stock to cut",
}
"""Every sheet by its name, in the order they are made; what each one is for."""


@dataclass(frozen=True)
class LeftOut:
    """A sheet that was not made, and why."""

    name: str
    why: str


def sheets_of(worked: Worked, wishes: Wishes, paper: Paper) -> tuple[list[Sheet], list[LeftOut]]:
    """Every sheet that is wished for and can be made, and those that cannot, with the reason."""
    made: list[Sheet] = []
    lacking: list[LeftOut] = []
    said = moved_limits(worked, wishes.units)
    for name in SHEETS:
        if wishes.only and name not in wishes.only:
            continue
        try:
            made += [replace(sheet, statements=said) for sheet in _MAKERS[name](worked, wishes, paper)]
        except SheetError as refusal:
            lacking.append(LeftOut(name, str(refusal)))
    return made, lacking


def moved_limits(worked: Worked, units: Units = "mm") -> tuple[str, ...]:
    """What the plan says of limits that the builder loosened or switched off: every sheet says it."""
    return tuple(with_inches(one, units) for one in (worked.cut.said if worked.cut else worked.said))


def _lacks(what: str, remedy: str) -> SheetError:
    return SheetError(f"the record lacks {what}\n    accepted: a record with it\n    what to do: {remedy}")


def _wraps(name: str, worked: Worked, wishes: Wishes, paper: Paper) -> Iterator[Sheet]:
    bore = bore_of(worked.on_deck, wishes.units)
    if bore is None:
        raise _lacks(
            "the place of a port in the bore", "measure roof, floor and width of a port, and the deck clearance"
        )
    target = None if worked.target is None else bore_of(worked.target)
    if target is not None:
        bore = replace(bore, planned=target.ports)
    stops = tuple(_stops(worked, bore))
    crown = name == "bore-wrap-crown"
    mirrored = name == "bore-wrap-mirrored"
    wrap = Wrap(
        bore,
        paper_mm=wishes.sheet_mm,
        sleeve_mm=wishes.sleeve_mm if mirrored else None,
        mirrored=mirrored,
        datum="crown" if crown else "deck",
        windows=wishes.windows,
        stops=stops,
        degrees=_crown_depths(worked.on_deck, bore.crown_at_tdc_mm) if crown else (),
        name=name,
    )
    datum = "crown's edge, piston at bottom dead centre" if crown else "deck: the barrel's top face, at the top"
    if worked.cut is not None and worked.cut.deck_lowered_mm and not crown:
        datum += f", {length(worked.cut.deck_lowered_mm, wishes.units)} taken off"
    yield Sheet(wrap_drawing(wrap), datum)


def _rubbing_wrap(worked: Worked, wishes: Wishes, paper: Paper) -> Iterator[Sheet]:
    from scribeline.tasks.rubbing_sheet import rubbing_wrap  # brings the camera library, which takes a while to load

    drawing = rubbing_wrap_drawing(replace(rubbing_wrap(worked.out, wishes.sheet_mm), units=wishes.units))
    yield Sheet(drawing, "deck: the barrel's top face, at the deck line")


def _stops(worked: Worked, bore: Bore) -> Iterator[PortOutline]:
    """Each port that is cut, with its edges at the stop lines of the cut list."""
    if worked.cut is None:
        return
    today = {port.name: port for port in bore.ports}
    lines = {(line.port, line.edge): line for step in worked.cut.steps for line in step.lines}
    widths = {width.port: width for step in worked.cut.steps for width in step.widths}
    for port in bore.planned:
        stop = stop_outline(today[port.name], port, margin_mm(Stage.PORTS)) if port.name in today else None
        if stop is None or stop.outline_mm:
            continue
        if (port.name, "roof") in lines:
            stop = replace(stop, roof_depth_mm=lines[port.name, "roof"].stop_mm)
        if (port.name, "floor") in lines:
            stop = replace(stop, floor_depth_mm=lines[port.name, "floor"].stop_mm)
        if port.name in widths:
            arc = float(arc_from_chord_mm(widths[port.name].stop_chord_mm, bore.bore_mm))
            stop = replace(stop, width_arc_mm=arc)
        yield stop


def _crown_depths(out: WorkedOut, deck: float) -> tuple[tuple[float, float], ...]:
    """How deep the crown's control edge stands at each whole degree on the way down."""
    record = out.record
    chamfer = record.piston.crown_chamfer_mm.value if record.piston.crown_chamfer_mm else 0.0
    offset = record.crank.pin_offset_mm.value if record.crank.pin_offset_mm else 0.0
    degrees = np.arange(60.0, 181.0)
    depths = kinematics.depth_mm(degrees, record.crank.stroke_mm.value, record.crank.rod_length_mm.value, offset)
    return tuple((float(deg), float(deck + chamfer + x)) for deg, x in zip(degrees, depths, strict=True))


def _cut_list(worked: Worked, wishes: Wishes, paper: Paper) -> Iterator[Sheet]:
    cut_list = printed_cut_list(worked, wishes.units)
    empty = Drawing("cut-list", "Cut list", "", ())
    drawn = Sheet(empty, "deck: the barrel's top face", words_only=True, book="cut-list")
    drawn = replace(drawn, statements=moved_limits(worked, wishes.units))
    space = room(drawn, paper)
    for drawing in cut_list_drawings(cut_list, space.width, space.height):
        yield replace(drawn, drawing=drawing)


def _wheels(worked: Worked, wishes: Wishes, paper: Paper) -> Iterator[Sheet]:
    for diameter in wishes.wheels_mm:
        wheel = Wheel(
            diameter,
            wishes.bolt_mm,
            windows_of(worked.out),
            () if worked.target is None else windows_of(worked.target),
            advance_deg(worked.out.record),
            wishes.turns,
            worked.out.record.name,
            f"degree-wheel-{diameter:g}",
            wishes.units,
        )
        yield Sheet(wheel_drawing(wheel), "true top dead centre, by piston stop", ("template", "measure"))


def _gasket(joint: str, worked: Worked, units: Units) -> Iterator[Sheet]:
    record = worked.latest.record
    cylinder, head = record.cylinder, record.head
    studs, outline, stack = (
        (head.studs, head.face_mm, record.gaskets.head)
        if joint == "head"
        else (cylinder.base_studs, cylinder.base_face_mm, record.gaskets.base)
    )
    lacking = [] if outline else ["Outer edge not in the record: take it off the old gasket."]
    if joint == "base":
        lacking.append("Transfer passages are not in the record: take them off the barrel's foot.")
    thick = _thickness(stack, units)
    gasket = Gasket(joint, cylinder.bore_mm.value, _stud_circle(studs), outline, thick, tuple(lacking), units)
    yield Sheet(gasket_drawing(gasket), "middle of the bore")


def _stud_circle(studs: Studs | None) -> StudCircle | None:
    if studs is None:
        return None
    clocks = tuple(clock.value for clock in studs.clock_deg)
    return StudCircle(studs.circle_diameter_mm.value, studs.hole_diameter_mm.value, clocks)


def _thickness(stack: tuple[GasketSheet, ...], units: Units) -> str:
    return " + ".join(f"{length(one.nominal_mm.value, units)} {one.material or ''}".strip() for one in stack)


def _squish(worked: Worked, wishes: Wishes, paper: Paper) -> Iterator[Sheet]:
    record, guide = worked.out.record, handbook()["squish_gap_mm"]
    squish, inner = record.squish, record.head.squish_inner_mm
    card = SquishCard(
        record.cylinder.bore_mm.value,
        None if inner is None else inner.value,
        squish.solder_diameter_mm.value if squish else 2.0,
        worked.out.value("squish_gap_mm") if "squish_gap_mm" in worked.out.values else None,
        worked.target.value("squish_gap_mm") if worked.target and "squish_gap_mm" in worked.target.values else None,
        guide.low,
        guide.high,
        source(guide.source).text,
        tuple((one.clock_deg.value, one.gap_mm.value) for one in squish.readings) if squish else (),
        units=wishes.units,
    )
    yield Sheet(squish_card(card), "crown, piston at top dead centre", ("measure", "template"), words_only=True)


def _head_shape(record: EngineRecord) -> HeadShape:
    head = record.head
    if head.squish_inner_mm is None or head.band_angle_deg is None:
        raise _lacks("the squish band's inner diameter or angle", "measure both, see docs/howto/measure-chamber.md")
    bore, shape = record.cylinder.bore_mm.value, head.shape
    outer = min(head.squish_outer_mm.value if head.squish_outer_mm else bore, bore)
    chamber = None
    if shape is not None:
        mouth = shape.mouth_diameter_mm.value if shape.mouth_diameter_mm else head.squish_inner_mm.value
        if shape.kind == "bathtub" and shape.width_mm is not None:
            mouth = shape.width_mm.value
        floor = shape.floor_diameter_mm.value if shape.floor_diameter_mm else 0.0
        step = shape.step_mm.value if shape.step_mm else 0.0
        chamber = Chamber(shape.kind, shape.depth_mm.value, mouth, floor, step)
    recess = head.band_recess_mm.value if head.band_recess_mm else 0.0
    return HeadShape(outer, head.squish_inner_mm.value, head.band_angle_deg.value, recess, chamber)


def _heads(enlarged: bool, worked: Worked, units: Units) -> Iterator[Sheet]:
    today = _head_shape(worked.out.record)
    target = None if worked.target is None else _head_shape(worked.target.record)
    head = HeadProfile(today, target if target != today else None, units=units)
    drawing = enlarged_drawing(head) if enlarged else head_drawing(head)
    yield Sheet(drawing, "head's gasket face, and the cylinder's axis", whole=enlarged)


def _pipe(worked: Worked, wishes: Wishes, paper: Paper) -> Iterator[Sheet]:
    sections, said = sections_of(worked.latest.record), moved_limits(worked, wishes.units)
    yield from pipe_sheets(sections, wishes.pipe, paper, said, wishes.units).sheets


_Maker = Callable[[Worked, Wishes, Paper], Iterator[Sheet]]
_MAKERS: dict[str, _Maker] = {
    "bore-wrap": lambda worked, wishes, paper: _wraps("bore-wrap", worked, wishes, paper),
    "bore-wrap-mirrored": lambda worked, wishes, paper: _wraps("bore-wrap-mirrored", worked, wishes, paper),
    "bore-wrap-crown": lambda worked, wishes, paper: _wraps("bore-wrap-crown", worked, wishes, paper),
    "rubbing-wrap": _rubbing_wrap,
    "cut-list": _cut_list,
    "degree-wheel": _wheels,
    "head-gasket": lambda worked, wishes, paper: _gasket("head", worked, wishes.units),
    "base-gasket": lambda worked, wishes, paper: _gasket("base", worked, wishes.units),
    "squish-card": _squish,
    "head-profile": lambda worked, wishes, paper: _heads(False, worked, wishes.units),
    "head-profile-enlarged": lambda worked, wishes, paper: _heads(True, worked, wishes.units),
    "pipe": _pipe,
}
