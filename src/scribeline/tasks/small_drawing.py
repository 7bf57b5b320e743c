"""A cylinder as a small picture to know it by: its own bore unrolled, its own ports, no lettering.

The lines take the colours of the page. A record that is not whole yet is drawn as far as it goes.
"""

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from scribeline.engine import EngineRecord, read_record, record_of
from scribeline.errors import ScribelineError

if TYPE_CHECKING:
    from scribeline.marking.bore_view import Bore
    from scribeline.marking.shapes import Polyline

_MARGIN_MM = 3.0


def small_drawing(record_toml: str) -> str:
    """The picture of a kept record, as an SVG element. It takes some milliseconds."""
    try:
        return _drawn(read_record(record_toml))
    except ScribelineError:  # kept when rules were less strict
        return _framed(160.0, 60.0, "", "ports not known")


def small_drawing_in_hand(record: Mapping[str, Any]) -> str:
    """The picture of a record in hand that may lack most of itself."""
    try:
        return _drawn(record_of(dict(record)))
    except ScribelineError:
        bore, stroke = _number(record.get("cylinder"), "bore_mm"), _number(record.get("crank"), "stroke_mm")
        around = math.pi * (bore or 50.0)
        stroke = stroke or 50.0
        crown = _line(0.0, stroke, around, stroke, "small-hidden") if bore else ""
        return _framed(around, 1.15 * stroke, crown, "ports not known")


def _drawn(record: EngineRecord) -> str:
    from scribeline.geometry.work_out import work_out
    from scribeline.tasks.drawings import bore_of

    out = work_out(record, draws=0)
    bore = bore_of(out)
    if bore is None:
        stroke = out.value("true_stroke_mm") or 50.0
        around = math.pi * record.cylinder.bore_mm.value
        return _framed(around, 1.15 * stroke, _line(0.0, stroke, around, stroke, "small-hidden"), "ports not known")
    return _unrolled(bore)


def _unrolled(bore: "Bore") -> str:
    """Ports on the wall, the deck as a heavy line, the crown at bottom dead centre as a broken one."""
    from scribeline.marking.bore_view import seam

    around, cut_deg = math.pi * bore.bore_mm, seam(bore)
    lowest = max([bore.crown_at_bdc_mm, *(port.floor_depth_mm for port in bore.ports)]) + 4.0
    shapes = []
    for one in (image for port in bore.ports for image in port.placed()):
        low, high = one.reach_mm
        x = (one.clock_deg - cut_deg) % 360.0 / 360.0 * around
        kind = "small-exhaust" if one.port.kind == "exhaust" else "small-port"
        for middle in (x - around, x, x + around):
            if middle + high > 0.0 and middle + low < around:
                shapes += [f'<path class="{kind}" d="{_path(loop)}"/>' for loop in one.loops(middle)]
    crown = _line(0.0, bore.crown_at_bdc_mm, around, bore.crown_at_bdc_mm, "small-hidden")
    return _framed(around, lowest, "".join([*shapes, crown]), f"{len(shapes)} openings")


def _framed(wide_mm: float, deep_mm: float, inside: str, what: str) -> str:
    box = f"{-_MARGIN_MM:g} {-_MARGIN_MM:g} {wide_mm + 2 * _MARGIN_MM:.1f} {deep_mm + 2 * _MARGIN_MM:.1f}"
    wall = f'<path class="small-wall" d="M0 0V{deep_mm:.1f}M{wide_mm:.1f} 0V{deep_mm:.1f}"/>'
    clip = f'<svg x="0" y="0" width="{wide_mm:.1f}" height="{deep_mm:.1f}" overflow="hidden">{inside}</svg>'
    deck = _line(-_MARGIN_MM, 0.0, wide_mm + _MARGIN_MM, 0.0, "small-deck")
    return (
        f'<svg class="small" xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" '
        f'aria-label="The bore unrolled: {what}">{wall}{clip}{deck}</svg>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, kind: str) -> str:
    return f'<path class="{kind}" d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"/>'


def _path(loop: "Polyline") -> str:
    """An outline whose depths count downwards; a bulge is tan(a/4) of the angle that an edge turns through."""
    x, y = loop.points[0]
    said = [f"M{x:.1f} {-y:.1f}"]
    for (x0, y0), (x1, y1), bulge in loop.edges():
        if bulge:
            radius = math.hypot(x1 - x0, y1 - y0) * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
            said.append(f"A{radius:.1f} {radius:.1f} 0 0 {int(bulge < 0)} {x1:.1f} {-y1:.1f}")
        else:
            said.append(f"L{x1:.1f} {-y1:.1f}")
    return "".join(said) + "Z"


def _number(part: Any, name: str) -> float | None:
    """A length as it stands in an unfinished record; None where it is none that can be drawn."""
    field = part.get(name) if isinstance(part, Mapping) else None
    value = field.get("value") if isinstance(field, Mapping) else field
    if isinstance(value, int | float) and not isinstance(value, bool) and 10.0 <= value <= 200.0:
        return float(value)
    return None
