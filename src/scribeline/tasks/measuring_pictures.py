"""Which drawing shows what is being measured, and the drawing itself for a page.

A picture is a pair: a view of `marking.where_views` and what is lit in it; or a drawing of `marking.measuring_views`,
with an instrument in place, and nothing; or nothing at all.
"""

from functools import cache

from scribeline.engine import Part
from scribeline.engine.bottom_end import Crank, Crankcase, CrankcaseEstimate, Cylinder, Piston, SkirtOpening, Studs
from scribeline.engine.breathing import Reed, RotaryDisc, Section
from scribeline.engine.head import ChamberShape, Head, Squish, SquishReading
from scribeline.engine.ports import DegreeWheel, Port
from scribeline.engine.vehicle import Drivetrain
from scribeline.marking.measuring_views import measuring_drawing
from scribeline.marking.where_views import places_of, where_drawing
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing

Picture = tuple[str, str]
NO_PICTURE: Picture = ("", "")

_VIEWS: dict[type[Part], tuple[str, ...]] = {
    Crank: ("engine",),
    Cylinder: ("engine",),
    Piston: ("piston",),
    SkirtOpening: ("piston", "from-above"),
    Head: ("head",),
    ChamberShape: ("head",),
    Port: ("port", "from-above", "passage"),
    SquishReading: ("from-above",),
    Studs: ("from-above",),
    Section: ("duct",),
}
_HOW: dict[type[Part], str] = {
    Crankcase: "crankcase-volume",
    CrankcaseEstimate: "crankcase-volume",
    Reed: "intake-parts",
    RotaryDisc: "intake-parts",
    Squish: "squish",
    DegreeWheel: "degree-wheel",
}
_SINGLE: dict[tuple[type[Part], str], Picture] = {
    (Cylinder, "ring_pegs_deg"): ("from-above", "clock_deg"),
    (Drivetrain, "tyre_rolling_radius_mm"): ("rolling-circumference", ""),
    (Drivetrain, "tyre_circumference_mm"): ("rolling-circumference", ""),
}


@cache
def picture_of(model: type[Part], name: str, place: str = "") -> Picture:
    """The picture that shows where, or how, a field is measured. place : needed to tell the two gaskets apart.

    >>> picture_of(Port, "clock_deg")
    ('from-above', 'clock_deg')
    """
    if (model, name) in _SINGLE:
        return _SINGLE[model, name]
    if place.startswith("gaskets."):
        return "engine", f"{place.split('.')[1]} gasket"
    for view in _VIEWS.get(model, ()):
        if name in places_of(view):
            return view, name
    return (_HOW[model], "") if model in _HOW else NO_PICTURE


@cache
def measuring_picture(picture: Picture) -> InlineDrawing:
    """A picture for a page. SheetError where there is none of this name."""
    view, lit = picture
    return inline_drawing(where_drawing(view, lit) if lit else measuring_drawing(view))
