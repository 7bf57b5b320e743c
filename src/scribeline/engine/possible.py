"""What no engine can be: checks of a record that need more than one number at a time.

Only what is impossible is refused here. What is possible but unwise is a warning on the card.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scribeline.engine.bottom_end import SkirtOpening
from scribeline.engine.breathing import Section
from scribeline.engine.lines import Location
from scribeline.engine.measured import Measured
from scribeline.engine.ports import Port
from scribeline.engine.record import EngineRecord


@dataclass(frozen=True)
class Impossible:
    """A finding and its place in the record, list elements counted from 0."""

    location: Location
    value: str
    accepted: str
    remedy: str


def impossibilities(record: EngineRecord) -> list[Impossible]:
    """Everything in the record that cannot be true of any engine."""
    return [
        *_crank(record),
        *_counts(record),
        *_head(record),
        *_squish(record),
        *_piston(record),
        *_wheel(record),
        *_intake(record),
        *_exhaust(record),
        *_faces(record),
        *_ports(record),
        *_names(record),
    ]


def _whole(number: int) -> str:
    return str(number) if abs(number) < 10**6 else "a number of seven digits or more"


def _value(measured: Measured | None) -> float | None:
    return None if measured is None else measured.value


def _crank(record: EngineRecord) -> Iterator[Impossible]:
    stroke, rod = (record.crank.stroke_mm.value, record.crank.rod_length_mm.value)
    offset = abs(_value(record.crank.pin_offset_mm) or 0.0)
    if rod <= stroke / 2 + offset:
        yield Impossible(
            ("crank", "rod_length_mm"),
            f"{rod:g}",
            f"more than half the stroke plus the pin offset, {stroke / 2 + offset:g} mm",
            "measure the rod from eye centre to eye centre and check the stroke",
        )


def _counts(record: EngineRecord) -> Iterator[Impossible]:
    count = record.cylinder.count
    if not 1 <= count <= 12:
        yield Impossible(("cylinder", "count"), _whole(count), "1 to 12", "count the cylinders")
    for index, gear in enumerate(record.drivetrain.gears):
        if not 0.05 <= gear <= 50:
            yield Impossible(
                ("drivetrain", "gears", index),
                f"{gear:g}",
                "0.05 to 50",
                "teeth on the driven over teeth on the driving gear",
            )
    for index, point in enumerate(record.ignition.table):
        if not 0 <= point.rpm <= 30000 or not -20 <= point.advance_deg <= 70:
            yield Impossible(
                ("ignition", "table", index),
                f"{point.advance_deg:g} deg at {point.rpm:g} rpm",
                "-20 to 70 deg at 0 to 30000 rpm",
                "check this point",
            )


def _head(record: EngineRecord) -> Iterator[Impossible]:
    bore = record.cylinder.bore_mm.value
    outer, inner = (_value(record.head.squish_outer_mm), _value(record.head.squish_inner_mm))
    if outer is not None and outer > bore + 2.0:
        yield Impossible(
            ("head", "squish_outer_mm"),
            f"{outer:g}",
            f"at most 2 mm more than the bore, {bore + 2:g} mm",
            "the band counts only as far as the piston reaches; leave it out where it is wider than the bore",
        )
    limit = min(bore, outer) if outer is not None else bore
    if inner is not None and inner >= limit:
        yield Impossible(
            ("head", "squish_inner_mm"),
            f"{inner:g}",
            f"less than the band's outer diameter, {limit:g} mm",
            "measure where the band ends and the chamber begins",
        )
    shape = record.head.shape
    if shape is None:
        return
    needed: tuple[str, ...] = ("length_mm", "width_mm") if shape.kind == "bathtub" else ("mouth_diameter_mm",)
    if shape.kind == "bowl":
        needed += ("floor_diameter_mm",)
    for field in needed:
        if getattr(shape, field) is None:
            yield Impossible(
                ("head", "shape", field),
                "nothing",
                f"needed for a {shape.kind}",
                f"measure it, or give chamber_on_bench_cc instead of a {shape.kind} shape",
            )
    length, width, radius = (_value(v) for v in (shape.length_mm, shape.width_mm, shape.corner_radius_mm))
    if length is not None and width is not None and ((radius or 0.0) > min(length, width) / 2):
        yield Impossible(
            ("head", "shape", "corner_radius_mm"),
            f"{radius:g}",
            f"at most half the shorter side, {min(length, width) / 2:g} mm",
            "measure the corner again",
        )


def _squish(record: EngineRecord) -> Iterator[Impossible]:
    squish = record.squish
    if squish is None:
        return
    if not 2 <= len(squish.readings) <= 4:
        yield Impossible(
            ("squish", "readings"),
            f"{len(squish.readings)} readings",
            "2 to 4 readings",
            "squeeze solder at opposite places along and across the gudgeon pin",
        )
    if not 1 <= squish.solder_folds <= 4:
        yield Impossible(
            ("squish", "solder_folds"),
            _whole(squish.solder_folds),
            "1 (one strand) to 4",
            "count the strands lying on each other",
        )
    thickness = squish.solder_diameter_mm.value * max(squish.solder_folds, 1)
    for index, reading in enumerate(squish.readings):
        if reading.gap_mm.value >= thickness:
            yield Impossible(
                ("squish", "readings", index, "gap_mm"),
                f"{reading.gap_mm.value:g}",
                f"less than the solder's own thickness, {thickness:g} mm",
                "the solder was not squeezed: use thicker solder or fold it",
            )


def _piston(record: EngineRecord) -> Iterator[Impossible]:
    piston = record.piston
    wanted = {"dome": "dome_height_mm", "deflector": "deflector_volume_cc"}.get(piston.crown)
    if wanted is not None and getattr(piston, wanted) is None:
        yield Impossible(("piston", wanted), "nothing", f"needed for a {piston.crown} crown", "measure it")
    for crown, field in (("dome", "dome_height_mm"), ("deflector", "deflector_volume_cc")):
        if crown != piston.crown and getattr(piston, field) is not None:
            yield Impossible(
                ("piston", field),
                f"{getattr(piston, field).value:g}",
                f'only with crown = "{crown}"',
                f'set crown = "{crown}" or take it out',
            )
    dome = _value(piston.dome_height_mm)
    if dome is not None and dome > record.cylinder.bore_mm.value / 2:
        yield Impossible(
            ("piston", "dome_height_mm"),
            f"{dome:g}",
            f"at most half the bore, {record.cylinder.bore_mm.value / 2:g} mm",
            "a taller dome is no part of a sphere",
        )
    top, lowest = _value(piston.top_ring_from_crown_mm), _value(piston.lowest_ring_from_crown_mm)
    if top is not None and lowest is not None and lowest <= top:
        yield Impossible(
            ("piston", "lowest_ring_from_crown_mm"),
            f"{lowest:g}",
            f"more than the top ring's upper side, {top:g} mm",
            "both are measured down from the crown's edge",
        )
    for index, opening in enumerate(piston.openings):
        bottom = _value(opening.bottom_from_crown_mm)
        if bottom is not None and bottom <= opening.top_from_crown_mm.value:
            yield Impossible(
                ("piston", "openings", index, "bottom_from_crown_mm"),
                f"{bottom:g}",
                f"more than its top, {opening.top_from_crown_mm.value:g} mm",
                "both are measured down from the crown",
            )


def _wheel(record: EngineRecord) -> Iterator[Impossible]:
    wheel = record.degree_wheel
    if wheel is None:
        return
    stops = (wheel.stop_turning_forwards_deg, wheel.stop_turning_back_deg)
    if wheel.readings == "raw" and None in stops:
        yield Impossible(
            ("degree_wheel",),
            "raw readings without both piston-stop readings",
            "stop_turning_forwards_deg and stop_turning_back_deg",
            "fit a piston stop by hand, turn until it touches, both ways, and write both readings",
        )


def _intake(record: EngineRecord) -> Iterator[Impossible]:
    intake = record.intake
    if intake is None:
        return
    for control, field in (("reed", "reed"), ("rotary disc", "disc")):
        has = getattr(intake, field) is not None
        if has != (intake.control == control):
            yield Impossible(
                ("intake", field),
                "given" if has else "nothing",
                f'intake.{field} goes with control = "{control}"',
                "add the part that is missing or change `control`",
            )
    if intake.control == "piston port":
        if not any(port.role == "intake" for port in record.ports):
            yield Impossible(
                ("intake", "control"),
                '"piston port"',
                'at least one port with role = "intake"',
                "add the intake port under [[ports]]",
            )
        if record.piston.skirt_intake_side_mm is None:
            yield Impossible(
                ("piston", "skirt_intake_side_mm"),
                "nothing",
                "needed where the skirt opens the intake",
                "measure from the crown's edge to the bottom of the skirt",
            )
    if intake.reed is not None and not 1 <= intake.reed.petals <= 100:
        yield Impossible(("intake", "reed", "petals"), _whole(intake.reed.petals), "1 to 100", "count the petals")
    disc = intake.disc
    if disc is not None and disc.inlet_diameter_mm.value >= 2 * disc.inlet_centre_radius_mm.value:
        yield Impossible(
            ("intake", "disc", "inlet_diameter_mm"),
            f"{disc.inlet_diameter_mm.value:g}",
            f"less than twice its centre radius, {2 * disc.inlet_centre_radius_mm.value:g} mm",
            "the inlet cannot reach over the crank's centre",
        )


def _exhaust(record: EngineRecord) -> Iterator[Impossible]:
    if record.exhaust is not None and (not record.exhaust.sections):
        yield Impossible(
            ("exhaust", "sections"),
            "empty",
            "at least one section",
            "list the pipe from the port face outwards, or leave [exhaust] out",
        )


def _faces(record: EngineRecord) -> Iterator[Impossible]:
    """Studs stand outside the bore, apart from each other; an outline goes round something."""
    bore = record.cylinder.bore_mm.value
    for place, studs in (
        (("cylinder", "base_studs"), record.cylinder.base_studs),
        (("head", "studs"), record.head.studs),
    ):
        if studs is None:
            continue
        circle, hole = studs.circle_diameter_mm.value, studs.hole_diameter_mm.value
        if circle - hole <= bore:
            yield Impossible(
                (*place, "circle_diameter_mm"),
                f"{circle:g} with holes of {hole:g} mm",
                f"more than bore and hole together, {bore + hole:g} mm",
                "measure from the middle of one stud to the middle of the one opposite",
            )
        if not studs.clock_deg:
            yield Impossible((*place, "clock_deg"), "empty", "one or more clock positions", "write where each stud is")
    for place, outline in (
        (("cylinder", "base_face_mm"), record.cylinder.base_face_mm),
        (("head", "face_mm"), record.head.face_mm),
    ):
        if outline and len(outline) < 3:
            yield Impossible(place, f"{len(outline)} points", "3 or more points", "take more points off the gasket")
        for number, (right, towards) in enumerate(outline):
            if max(abs(right), abs(towards)) > 500:
                yield Impossible(
                    (*place, number),
                    f"[{right:g}, {towards:g}]",
                    "both within 500 mm of the bore's middle",
                    "points count from the bore's middle",
                )


def _ports(record: EngineRecord) -> Iterator[Impossible]:
    names = [port.name for port in record.ports]
    for index, port in enumerate(record.ports):
        if port.name in names[:index] or not port.name or "." in port.name:
            yield Impossible(
                ("ports", index, "name"),
                f'"{port.name}"',
                "a name of its own, without dots",
                "tell the ports apart, for example exhaust, left transfer",
            )
        if port.role != "blind":
            yield from _one_port(record, port, index)


def _names(record: EngineRecord) -> Iterator[Impossible]:
    """A name places its readings on the card, so that it may stand only once in a list."""
    lists: list[tuple[Location, Sequence[SkirtOpening | Section]]] = [(("piston", "openings"), record.piston.openings)]
    if record.intake is not None:
        lists.append((("intake", "tract"), record.intake.tract))
    if record.exhaust is not None:
        lists.append((("exhaust", "sections"), record.exhaust.sections))
    for place, parts in lists:
        names = [part.name or str(number) for number, part in enumerate(parts, start=1)]
        for index, name in enumerate(names):
            if name in names[:index] or "." in name:
                yield Impossible(
                    (*place, index, "name"),
                    f'"{name}"',
                    "a name of its own, without dots",
                    "tell them apart, for example first diffuser, second diffuser",
                )


def _one_port(record: EngineRecord, port: Port, index: int) -> Iterator[Impossible]:
    bore = record.cylinder.bore_mm.value
    chord = _value(port.width_chord_mm)
    if chord is not None and chord >= bore:
        yield Impossible(
            ("ports", index, "width_chord_mm"),
            f"{chord:g}",
            f"less than the bore, {bore:g} mm",
            "a chord is straight across; for the length along the bore use width_arc_mm",
        )
    arc = _value(port.width_arc_mm)
    if arc is not None and arc >= 3.1415 * bore / 2:
        yield Impossible(
            ("ports", index, "width_arc_mm"),
            f"{arc:g}",
            f"less than half way round the bore, {3.1415 * bore / 2:.1f} mm",
            "enter each opening as a port of its own",
        )
    if chord is None and arc is None and (not port.outline_mm):
        yield Impossible(
            ("ports", index), "no width", "width_chord_mm, width_arc_mm or outline_mm", "measure the widest place"
        )
    if port.outline_mm and len(port.outline_mm) < 3:
        yield Impossible(
            ("ports", index, "outline_mm"),
            f"{len(port.outline_mm)} points",
            "3 or more points",
            "take more points off the rubbing",
        )
    reach = math.pi * bore / 2
    for number, (across, from_deck) in enumerate(port.outline_mm):
        if abs(across) > reach or not 0 <= from_deck <= 300:
            yield Impossible(
                ("ports", index, "outline_mm", number),
                f"[{across:g}, {from_deck:g}]",
                f"[{-reach:.1f} to {reach:.1f} mm across, 0 to 300 mm from the deck]",
                "across counts from the port's middle, half way round the bore at most",
            )
    blur = port.outline_plus_minus_mm
    if blur is not None and not 0 <= blur <= 5:
        yield Impossible(
            ("ports", index, "outline_plus_minus_mm"), f"{blur:g}", "0 to 5 mm", "how far the outline may be off"
        )
    bridge = _value(port.bridge_mm)
    if bridge is not None and chord is not None and (bridge >= chord):
        yield Impossible(
            ("ports", index, "bridge_mm"),
            f"{bridge:g}",
            f"less than the port's width, {chord:g} mm",
            "measure the bar alone",
        )
    yield from _edges(record, port, index)


_WAYS = ("from_deck_mm", "from_crown_tdc_mm", "from_crown_bdc_mm", "opens_deg_atdc", "closes_deg_atdc")


def _edges(record: EngineRecord, port: Port, index: int) -> Iterator[Impossible]:
    for edge in ("roof", "floor"):
        known = [way for way in _WAYS if getattr(port, f"{edge}_{way}") is not None]
        if not known and (not port.outline_mm):
            yield Impossible(
                ("ports", index),
                f"no {edge}",
                f"one or more of {', '.join(f'{edge}_{way}' for way in _WAYS)}",
                "measure it any one of these ways; two ways are better and are compared",
            )
    yield from _wheel_order(port, index)
    stroke = record.crank.stroke_mm.value
    below_tdc = _below_crown_at_tdc(record, port)
    roof, floor = (below_tdc["roof"], below_tdc["floor"])
    skirt = _value(record.piston.skirt_intake_side_mm)
    lowest = stroke if port.role != "intake" else math.inf if skirt is None else stroke + skirt
    if roof is not None and (roof[0] < 0 or roof[0] > lowest):
        way, depth = (roof[1], roof[0])
        state = "above the crown at top dead centre" if depth < 0 else "never reached by the piston"
        yield Impossible(
            ("ports", index, way),
            f"{_given(port, way)} puts the roof {depth:.2f} mm below the crown at top dead centre: {state}",
            f"0 {'or more' if lowest == math.inf else f'to {lowest:.2f}'} mm below the crown at top dead centre",
            "measure the edge and the deck clearance again",
        )
    if roof is not None and floor is not None and (floor[0] <= roof[0]):
        yield Impossible(
            ("ports", index, floor[1]),
            f"{_given(port, floor[1])} puts the floor {roof[0] - floor[0]:.2f} mm above the roof",
            "a floor below the roof",
            "roof is the edge nearer the head; check which was measured from where",
        )
    if roof is None or floor is None:
        return
    height = floor[0] - roof[0]
    radii = [_value(getattr(port, f"{edge}_corner_radius_mm")) or 0.0 for edge in ("roof", "floor")]
    width = _value(port.width_arc_mm) or _value(port.width_chord_mm)
    if 0 < height < sum(radii) or (width is not None and 2 * max(radii) > width):
        yield Impossible(
            ("ports", index, "roof_corner_radius_mm"),
            f"{radii[0]:g} and {radii[1]:g}",
            f"radii that fit into {height:.2f} mm of height" + (f" and {width:g} mm of width" if width else ""),
            "measure the radii on a rubbing",
        )


def _wheel_order(port: Port, index: int) -> Iterator[Impossible]:
    """On the way that opens it, the crown passes the roof before the floor; an intake's skirt passes the floor first.

    Only the difference of two readings counts, so that the wheel may have been set to any zero.
    """
    for way in ("opens_deg_atdc", "closes_deg_atdc"):
        roof, floor = (_value(getattr(port, f"{edge}_{way}")) for edge in ("roof", "floor"))
        if roof is None or floor is None:
            continue
        roof_first = (way == "opens_deg_atdc") != (port.role == "intake")
        later = (floor - roof if roof_first else roof - floor) % 360
        if not 0 < later < 180:
            before, after = ("roof", "floor") if roof_first else ("floor", "roof")
            yield Impossible(
                ("ports", index, f"floor_{way}"),
                f"{floor:g} with the roof at {roof:g}",
                f"the {before} less than half a turn before the {after}",
                "turn the crank the way the engine runs and read both edges again",
            )


def _given(port: Port, key: str) -> str:
    return "this outline" if key == "outline_mm" else f"{getattr(port, key).value:g}"


def _below_crown_at_tdc(record: EngineRecord, port: Port) -> dict[str, tuple[float, str] | None]:
    """Depth of each edge below the crown at top dead centre, from the first height that gives it, with its key.

    Without the pin offset's change of the stroke (some thousandths of a millimetre): enough to refuse the impossible.
    """
    clearance = _value(record.cylinder.deck_clearance_at_tdc_mm)
    result: dict[str, tuple[float, str] | None] = {}
    for edge in ("roof", "floor"):
        result[edge] = None
        deck = _value(getattr(port, f"{edge}_from_deck_mm"))
        tdc = _value(getattr(port, f"{edge}_from_crown_tdc_mm"))
        bdc = _value(getattr(port, f"{edge}_from_crown_bdc_mm"))
        if deck is not None and clearance is not None:
            result[edge] = (deck - clearance, f"{edge}_from_deck_mm")
        elif tdc is not None:
            result[edge] = (tdc, f"{edge}_from_crown_tdc_mm")
        elif bdc is not None:
            result[edge] = (record.crank.stroke_mm.value - bdc, f"{edge}_from_crown_bdc_mm")
        elif port.outline_mm and clearance is not None:
            from_deck = [point[1] for point in port.outline_mm]
            result[edge] = ((min if edge == "roof" else max)(from_deck) - clearance, "outline_mm")
    return result
