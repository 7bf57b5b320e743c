"""Writes a sheet's drawing as DXF for other drawing programs and for machines that cut: millimetres, full size, one
layer to a meaning, closed outlines as closed polylines, arcs kept as arcs.

A DXF is not a page: it is not tiled and carries no printer's correction. Its check bars stand beside the drawing on
the layer CHECK, so that whoever prints it, or loads it in the wrong unit, can see it.
"""

import io
from collections.abc import Iterable
from typing import Any

from scribeline.errors import SheetError
from scribeline.marking.check_bars import TICK_MM, bars, prove
from scribeline.marking.drafting import Box, bounds, plain
from scribeline.marking.shapes import PENS, Circle, Group, Polyline, Role, Text, group, lettering
from scribeline.marking.sheet import Issue, Sheet

MILLIMETRES = 4  # of the header variable $INSUNITS
LETTERING = "LETTERING"
_VERSION = "R2010"
_COLOURS = {"ink": 7, "faint": 8, "accent": 1}  # of the format's own table of colours
_WEIGHTS = (5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70)  # hundredths of a millimetre that it knows
_AWAY_MM = 12.0


def layer_of(role: Role) -> str:
    """The layer that shapes of this role are on: lettering is on LETTERING whatever it belongs to.

    >>> layer_of("transfer curve")
    'TRANSFER_CURVE'
    """
    return role.upper().replace(" ", "_")


def write_dxf(sheet: Sheet, issue: Issue) -> str:
    """The drawing of a sheet as DXF text; the same sheet always gives the same text.

    Raises SheetError where the drawing is not full size: a machine would cut it as it stands.
    """
    if not sheet.template:
        raise SheetError(
            f"{sheet.drawing.title} is drawn at {sheet.scale}\n    accepted: full size, 1:1\n"
            "    what to do: write the full-size drawing as DXF, and this one as PDF or SVG"
        )
    from ezdxf._options import options
    from ezdxf.filemanagement import new

    groups = (*sheet.drawing.groups, *_beside(sheet, issue))
    usual = options.write_fixed_meta_data_for_testing
    try:
        options.write_fixed_meta_data_for_testing = True  # no time of writing and no random name in the file
        document = new(_VERSION, units=MILLIMETRES)
        document.header["$MEASUREMENT"] = 1  # line types in millimetres too
        _layers(document, groups)
        space = document.modelspace()
        for one in groups:
            _group(space, one)
        out = io.StringIO()
        document.write(out)
    finally:
        options.write_fixed_meta_data_for_testing = usual
    return out.getvalue()


def _beside(sheet: Sheet, issue: Issue) -> tuple[Group, ...]:
    """Check bars below and to the left of the drawing, and what the drawing is."""
    box = bounds(sheet.drawing.groups)
    across = bars((box.left, box.bottom - _AWAY_MM), up=False)
    upwards = bars((box.left - _AWAY_MM - 7.0, box.bottom), up=True)
    words = (
        f"{sheet.drawing.title}: {issue.record}{' (invented)' if issue.invented else ''}",
        f"revision {issue.revision}, {issue.date}. Datum: {sheet.datum}. Millimetres, full size.",
        "Measure the check bars before you cut: 100 mm and 4 in, across and up.",
    )
    notes = lettering((box.left, box.bottom - _AWAY_MM - 7.0 - TICK_MM - 4.0), words)
    found = (*across, *upwards, group("note", *notes))
    _prove(found, box)
    return found


def _prove(found: Iterable[Group], box: Box) -> None:
    moved = [
        Group(one.role, tuple(_moved(shape, box) for shape in one.shapes if isinstance(shape, Polyline)))
        for one in found
    ]
    prove(moved, 1e4, 1e4)


def _moved(shape: Polyline, box: Box) -> Polyline:
    """Into the upper right quarter, where a page would be."""
    return Polyline(tuple((x - box.left + 1e3, y - box.bottom + 1e3) for x, y in shape.points), shape.bulges)


def _layers(document: Any, groups: Iterable[Group]) -> None:
    document.layers.add(LETTERING, color=7, lineweight=18)
    for role in sorted({one.role for one in groups}, key=list(PENS).index):
        pen = PENS[role]
        kind = "CONTINUOUS"
        if pen.dashes_mm:
            kind = layer_of(role)
            signed = [length if i % 2 == 0 else -length for i, length in enumerate(pen.dashes_mm)]
            document.linetypes.add(kind, [sum(pen.dashes_mm), *signed], description=role)
        weight = min(_WEIGHTS, key=lambda known: abs(known - 100.0 * pen.width_mm))
        document.layers.add(layer_of(role), color=_COLOURS[pen.ink], linetype=kind, lineweight=weight)


def _group(space: Any, one: Group) -> None:
    layer = {"layer": layer_of(one.role)}
    for whole in one.shapes:
        for shape in plain(whole):
            if isinstance(shape, Circle):
                space.add_circle(shape.centre, shape.radius_mm, dxfattribs=layer)
            elif isinstance(shape, Text):
                _text(space, shape)
            elif len(shape.points) == 2 and not any(shape.bulges) and not shape.closed:
                space.add_line(*shape.points, dxfattribs=layer)
            else:
                bulges = [*shape.bulges, *(0.0,) * (len(shape.points) - len(shape.bulges))]
                corners = [(x, y, bulged) for (x, y), bulged in zip(shape.points, bulges, strict=True)]
                space.add_lwpolyline(corners, format="xyb", close=shape.closed, dxfattribs=layer)


def _text(space: Any, text: Text) -> None:
    from ezdxf.enums import TextEntityAlignment

    place = {
        "start": TextEntityAlignment.LEFT,
        "middle": TextEntityAlignment.CENTER,
        "end": TextEntityAlignment.RIGHT,
    }[text.anchor]
    made = space.add_text(text.words, height=text.height_mm, rotation=text.turned_deg, dxfattribs={"layer": LETTERING})
    made.set_placement(text.at, align=place)
