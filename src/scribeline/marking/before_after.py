"""The drawings of an engine before and after a plan, laid over each other: broken as it is, full as it shall be.

Each drawing keeps what the work cannot move where it was: the bore its lower end, the dial and the section the crank,
the pipe its flange. Only what changes is drawn twice, so that a drawing without broken lines says that nothing does.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from scribeline.marking.area_plot import AreaCurve, AreaPlot, area_plot
from scribeline.marking.bore_view import Bore, bore_view
from scribeline.marking.dial_view import Dial, Window, dial_view
from scribeline.marking.parts import WALL_SHARE
from scribeline.marking.port_outline import PortOutline
from scribeline.marking.section_view import (
    Section,
    WallOpening,
    detail_corner,
    scaled,
    section_view,
    under_head,
)
from scribeline.marking.shapes import Drawing, Group, Polyline, Shape, group, line, rectangle
from scribeline.marking.squish_detail import squish_edges
from scribeline.units import Units, length, length_number

SAME_MM = 0.005
"""Two depths nearer to each other than this are drawn as one; judgement, a hundredth of a line's width."""
SAME_DEG = 0.05
SAME_MM2 = 0.5
"""Areas nearer to each other than this are drawn as one curve; judgement, a fifth of a line's width on a usual plot."""


def bore_before_after(before: Bore, after: Bore, lowered_mm: float = 0.0) -> Drawing:
    """The unrolled bore, depths from the deck as it shall be.

    lowered_mm : what comes off the barrel's top in between, by which everything measured from there is nearer to it
    """
    was = [_from_new_deck(port, lowered_mm) for port in before.ports]
    by_name = {port.name: port for port in was}
    changed = tuple(port for port in after.ports if _differs(by_name.get(port.name), port))
    drawing = bore_view(replace(after, ports=tuple(was) if changed else after.ports, planned=changed))
    around = math.pi * after.bore_mm
    lines: list[Group] = []
    moved = [
        ("the crown's edge at top dead centre, as it is", before.crown_at_tdc_mm - lowered_mm, after.crown_at_tdc_mm),
        ("the crown's edge at bottom dead centre, as it is", before.crown_at_bdc_mm - lowered_mm,
         after.crown_at_bdc_mm),
        ("the deck as it is", -lowered_mm, 0.0),
    ]  # fmt: skip
    for what, old, new in moved:
        if abs(old - new) > SAME_MM:
            lines.append(group("today", line((0.0, -old), (around, -old)), about=what))
    words = [f"{_told(by_name.get(port.name), port, after.units)}." for port in changed]
    if lowered_mm > SAME_MM:
        words.append(f"Depths are from the deck as it shall be, {length(lowered_mm, after.units)} lower than it is.")
    return _said(drawing, "The bore, before and after", words, lines)


def _from_new_deck(port: PortOutline, lowered_mm: float) -> PortOutline:
    return replace(
        port,
        roof_depth_mm=port.roof_depth_mm - lowered_mm,
        floor_depth_mm=port.floor_depth_mm - lowered_mm,
        outline_mm=tuple((x, depth - lowered_mm) for x, depth in port.outline_mm),
    )


def _differs(was: PortOutline | None, now: PortOutline) -> bool:
    if was is None or (was.outline_mm != now.outline_mm and not (was.outline_mm and now.outline_mm)):
        return True
    pairs = [
        (was.roof_depth_mm, now.roof_depth_mm), (was.floor_depth_mm, now.floor_depth_mm),
        (was.width_arc_mm, now.width_arc_mm), (was.roof_corner_radius_mm, now.roof_corner_radius_mm),
        (was.floor_corner_radius_mm, now.floor_corner_radius_mm), (was.bridge_mm, now.bridge_mm),
    ]  # fmt: skip
    if any(abs(a - b) > SAME_MM for a, b in pairs) or len(was.outline_mm) != len(now.outline_mm):
        return True
    points = zip(was.outline_mm, now.outline_mm, strict=True)
    return any(math.dist(a, b) > SAME_MM for a, b in points)


def _told(was: PortOutline | None, now: PortOutline, units: Units) -> str:
    if was is None:
        roof, floor = (length(mm, units) for mm in (now.roof_depth_mm, now.floor_depth_mm))
        return f"New: {now.name}, roof {roof} and floor {floor} below the deck"
    pairs = [("roof", was.roof_depth_mm, now.roof_depth_mm), ("floor", was.floor_depth_mm, now.floor_depth_mm),
             ("width along the bore", was.width_arc_mm, now.width_arc_mm)]  # fmt: skip
    parts = [_from_to(what, a, b, units) for what, a, b in pairs if abs(a - b) > SAME_MM]
    return f"{now.name}: {', '.join(parts) or 'another outline'}"


def _from_to(what: str, was: float, now: float, units: Units) -> str:
    return f"{what} from {length_number(was, units)} to {length(now, units)}"


def dial_before_after(before: Dial, after: Dial) -> Drawing:
    """The timing dial; the sector of each window that changes is drawn broken where it is today."""
    drawing = dial_view(after, before)
    words = []
    for now in after.windows:
        was = next((one for one in before.windows if one.name == now.name), None)
        if was is not None and window_differs(was, now):
            words.append(f"{now.name}: open for {was.duration_deg:.1f}° as it is, {now.duration_deg:.1f}° after.")
    return _said(drawing, "Port timing, before and after", words, [])


def window_differs(was: Window, now: Window) -> bool:
    """Whether two windows are drawn as two."""
    return max(abs(was.opens_deg_atdc - now.opens_deg_atdc), abs(was.closes_deg_atdc - now.closes_deg_atdc)) > SAME_DEG


def areas_before_after(before: Sequence[AreaCurve], after: Sequence[AreaCurve]) -> Drawing:
    """Open areas against crank angle; the curve of each group that changes is drawn thin where it is today.

    Groups have line styles of their own, broken ones too, so that thin and thick tell today and after apart. Both give
    their areas at the same crank angles. SheetError where no port opens after.
    """
    was = {one.name: one for one in before}
    changed = [one for one in after if one.name in was and _curve_differs(was[one.name], one)]
    drawing = area_plot(AreaPlot(tuple(after), measured=tuple(was[one.name] for one in changed), behind="as it is"))
    words = [
        f"{one.name}: largest open area from {max(was[one.name].area_mm2):.0f} to {max(one.area_mm2):.0f} mm², "
        f"opens at {was[one.name].opens_deg_atdc:.1f}° as it is, {one.opens_deg_atdc:.1f}° after."
        for one in changed
    ]
    words += [f"New: {one.name}." for one in after if one.name not in was]
    title = "Open port areas, before and after: thin as they are, thick as they shall be"
    return _said(drawing, title, words, [], lines="Thin broken lines: as it is. Thick lines: as it shall be.")


def _curve_differs(was: AreaCurve, now: AreaCurve) -> bool:
    ends = abs(was.opens_deg_atdc - now.opens_deg_atdc), abs(was.closes_deg_atdc - now.closes_deg_atdc)
    areas = zip(was.area_mm2, now.area_mm2, strict=True)
    return max(ends) > SAME_DEG or any(abs(a - b) > SAME_MM2 for a, b in areas)


def section_before_after(before: Section, after: Section) -> Drawing:
    """The section, both at the same crank angle; in the enlarged squish region the band and the deck as they are."""
    drawing = section_view(after)
    scale = drawing.scale
    was, now = scaled(before, scale), scaled(after, scale)
    axis, half, rim = now.pin_offset_mm, 0.5 * now.bore_mm, (0.5 + WALL_SHARE) * now.bore_mm
    groups: list[Group] = []
    if abs(before.deck_mm - after.deck_mm) > SAME_MM:
        old = was.deck_mm
        decks = [line((axis + way * half, old), (axis + way * rim, old)) for way in (-1.0, 1.0)]
        groups.append(group("today", *decks, about="the deck as it is"))
    cuts: list[Shape] = []
    for one in before.openings:
        other = next((two for two in after.openings if (two.name, two.side) == (one.name, one.side)), None)
        if other is None or _opening_differs(before, one, after, other):
            way = 1.0 if one.side == "exhaust" else -1.0
            edges = sorted((axis + way * half, axis + way * rim))
            top, bottom = (was.deck_mm - scale * depth for depth in (one.roof_depth_mm, one.floor_depth_mm))
            cuts.append(rectangle(edges[0], bottom, edges[1], top))
    if cuts:
        groups.append(group("today", *cuts, about="ports as they are"))
    if _heads_differ(before, after):
        groups.append(group("today", *under_head(was), about="the head's lower side as it is"))
    skirts = []
    crown = now.gudgeon_pin[1] + now.compression_height_mm
    for way, old, new in ((-1.0, before.skirt_intake_side_mm, after.skirt_intake_side_mm),
                          (1.0, before.skirt_exhaust_side_mm, after.skirt_exhaust_side_mm)):  # fmt: skip
        if abs(old - new) > SAME_MM:
            y, x = crown - scale * old, axis + way * half
            skirts.append(_u(x, y, crown - scale * new, -way * 0.05 * now.bore_mm))
    if skirts:
        groups.append(group("today", *skirts, about="the skirt as it is"))
    if before.band and after.band and _heads_differ(before, after):
        squish = squish_edges(before.band, after.band, after.bore_mm, before.deck_clearance_mm, before.head_gasket_mm,
                             detail_corner(now))  # fmt: skip
        groups.append(group("today", *squish, about="band and deck as they are, enlarged"))
    words = []
    if before.band and after.band and abs(before.band.gap_mm - after.band.gap_mm) > SAME_MM:
        gaps = before.band.gap_mm, after.band.gap_mm
        words.append(f"{_from_to('The squish gap at the wall goes', *gaps, after.units)}.")
    return _said(drawing, "Section, before and after", words, groups)


def _u(x: float, low: float, high: float, thick: float) -> Polyline:
    return Polyline(((x, high), (x, low), (x + thick, low), (x + thick, high)))


def _opening_differs(before: Section, one: WallOpening, after: Section, other: WallOpening) -> bool:
    heights = [(before.deck_mm - one.roof_depth_mm, after.deck_mm - other.roof_depth_mm),
               (before.deck_mm - one.floor_depth_mm, after.deck_mm - other.floor_depth_mm)]  # fmt: skip
    return any(abs(a - b) > SAME_MM for a, b in heights)


def _heads_differ(before: Section, after: Section) -> bool:
    pairs = [(before.deck_clearance_mm, after.deck_clearance_mm), (before.head_gasket_mm, after.head_gasket_mm),
             (before.chamber_depth_mm, after.chamber_depth_mm)]  # fmt: skip
    if before.band and after.band:
        pairs += [(before.band.gap_mm, after.band.gap_mm), (before.band.inner_mm, after.band.inner_mm),
                  (before.band.rise_mm, after.band.rise_mm)]  # fmt: skip
    return any(abs(a - b) > SAME_MM for a, b in pairs)


LINES = "Broken lines: as it is. Full lines: as it shall be."


def _said(drawing: Drawing, title: str, words: list[str], over: list[Group], *, lines: str = LINES) -> Drawing:
    """The drawing under a title of its own, with what changes in words before the rest."""
    changes = " ".join(word[0].upper() + word[1:] for word in words) or "Nothing drawn here changes."
    about = f"{lines} {changes} {drawing.description}"
    return replace(drawing, title=title, description=about, groups=(*drawing.groups, *over))
