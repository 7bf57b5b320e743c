"""Where on the engine a number is taken: one drawing for a family of measurements, with one of them lit.

The lit one stands in the accent with its words; the others are thin lines without words, so that one sees what lies
near it. Schematic, not to scale: they show places, not this engine.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from scribeline.errors import SheetError
from scribeline.marking import where_bottom_end, where_breathing, where_ports, where_top
from scribeline.marking.drafting import extent
from scribeline.marking.shapes import NAME_MM, Dimension, Drawing, Group, Polyline, Shape, Text, group
from scribeline.marking.where_shapes import Where

_VIEWS: Mapping[str, Callable[[], Where]] = MappingProxyType(
    {
        "engine": where_bottom_end.engine,
        "piston": where_bottom_end.piston_view,
        "head": where_top.head_view,
        "from-above": where_top.from_above,
        "port": where_ports.port_view,
        "passage": where_ports.passage_view,
        "duct": where_breathing.duct_view,
    }
)

VIEWS = tuple(_VIEWS)


def places_of(view: str) -> tuple[str, ...]:
    """What can be lit in a view."""
    return tuple(_view(view).places)


def where_drawing(view: str, lit: str) -> Drawing:
    """The drawing of a view with one of its places lit. SheetError for a name that is none.

    >>> where_drawing("engine", "stroke_mm").title
    'Where it is measured: stroke'
    """
    made = _view(view)
    if lit not in made.places:
        raise SheetError(f"there is no {lit!r} in the drawing {view!r}; there are: {', '.join(made.places)}")
    words, shapes = made.places[lit]
    others = [shape for name, (_, some) in made.places.items() if name != lit for shape in some]
    return Drawing(
        f"where-{view}",
        f"Where it is measured: {words}",
        f"{made.description} Lit: {words}.",
        (
            *made.groups,
            group("hatch", *_without_words(others)),
            *_lit(shapes),
            _room(made),
        ),
    )


def _room(made: Where) -> Group:
    """The room that any of its places needs, so that lighting another one does not change the drawing's size."""
    boxes = [
        extent(Drawing("room", "", "", (*made.groups, *_lit(some)), margin_mm=0)) for _, some in made.places.values()
    ]
    low = min(box.left for box in boxes), min(box.bottom for box in boxes)
    high = max(box.right for box in boxes), max(box.top for box in boxes)
    return group("note", Text(low, "", 0.1), Text(high, "", 0.1))


def _view(view: str) -> Where:
    if view not in _VIEWS:
        raise SheetError(f"there is no drawing {view!r}; there are: {', '.join(VIEWS)}")
    return _VIEWS[view]()


def _without_words(shapes: Sequence[Shape]) -> list[Shape]:
    """Thin lines only: no lettering, and nothing of areas but dimensions."""
    return [replace(one, words="") for one in shapes if isinstance(one, Dimension)]


def _lit(shapes: Sequence[Shape]) -> list[Group]:
    areas = [one for one in shapes if isinstance(one, Polyline) and one.closed]
    lines = [one for one in shapes if not isinstance(one, Text) and one not in areas]
    words = [replace(one, height_mm=NAME_MM) for one in shapes if isinstance(one, Text)]
    large = [replace(one, height_mm=NAME_MM) if isinstance(one, Dimension) else one for one in lines]
    found = [group("measured", *areas, fill="accent wash")] if areas else []
    return [*found, group("measured", *large, *words)]
