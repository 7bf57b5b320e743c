"""The marker sheet of an engine: which paper its rubbing is made on, and that paper as a drawing is filled in."""

from scribeline.geometry.work_out import WorkedOut
from scribeline.marking.bore_view import Bore, seam
from scribeline.marking.rubbing_wrap import PrintedMarker, RubbingWrap
from scribeline.rubbing.markers import MARKER_MM, QUIET_MM, MarkerSheet, cells, sheet_for
from scribeline.tasks.drawings import bore_of

UNDER_A_PORT_MM = 4.0
"""Wall that is rubbed below the lowest port."""


def marker_sheet(out: WorkedOut, paper_mm: float = 0.1) -> MarkerSheet:
    """The paper for this engine: seam where no port is cut, lower markers below the lowest port.

    Where no port has been measured yet, it reaches to where a piston port's floor can lie: half a stroke below the
    skirt's end at top dead centre, or a little below the crown at bottom dead centre. Raises RubbingError for a bore
    that is too small, too large or too deep for the markers.
    """
    bore = bore_of(out)
    if bore is not None:
        lowest = max(one.floor_depth_mm for one in bore.ports) + UNDER_A_PORT_MM
        return sheet_for(bore.bore_mm, lowest, seam(bore), paper_mm)
    record = out.record
    stroke = record.crank.stroke_mm.value
    deck = out.values["deck_clearance_mm"].value if "deck_clearance_mm" in out.values else None
    skirt = record.piston.skirt_intake_side_mm
    reach = max(stroke + 2.0 * UNDER_A_PORT_MM, 0.0 if skirt is None else skirt.value + 0.5 * stroke)
    empty = Bore(record.cylinder.bore_mm.value, (), 0.0, stroke)
    return sheet_for(record.cylinder.bore_mm.value, reach + max(deck or 0.0, 0.0), seam(empty), paper_mm)


def rubbing_wrap(out: WorkedOut, paper_mm: float = 0.1) -> RubbingWrap:
    """The same paper as its drawing needs it."""
    sheet = marker_sheet(out, paper_mm)
    markers = tuple(
        PrintedMarker(one.across_mm, one.down_mm, tuple(tuple(map(bool, row)) for row in cells(one.number)))
        for one in sheet.markers
    )
    rub_to = sheet.lower_row_mm - 0.5 * MARKER_MM - QUIET_MM
    edge = (sheet.left_mm, sheet.top_mm, sheet.right_mm, sheet.bottom_mm)
    return RubbingWrap(edge, rub_to, markers, MARKER_MM)
