"""What an operation does to barrel, head, gaskets and piston, in section. Schematic, not to scale.

What comes off, or what is changed, is filled with the accent.
"""

from collections.abc import Sequence
from typing import Literal

from scribeline.marking.labels import Label, column
from scribeline.marking.parts import barrel, piston
from scribeline.marking.shapes import (
    NAME_MM,
    Dimension,
    Drawing,
    Group,
    Hatch,
    Polyline,
    Text,
    group,
    line,
    polygon,
    rectangle,
)

_HALF, _RIM, _TALL, _SHEET = 22.0, 28.2, 48.0, 3.0
What = Literal["base gasket", "one base gasket", "head gasket", "top", "foot", "face"]


def _both(low: float, high: float) -> list[Polyline]:
    return [rectangle(-_RIM, low, -_HALF, high), rectangle(_HALF, low, _RIM, high)]


def engine(name: str, title: str, words: str, what: What, notes: Sequence[str]) -> Drawing:
    """Barrel, piston, head and gaskets in section; one of them is what the drawing is about."""
    head = polygon(
        (-_RIM, _SHEET), (-_HALF, _SHEET), (-12.0, 5.5), (-8.0, 12.0), (8.0, 12.0), (12.0, 5.5), (_HALF, _SHEET),
        (_RIM, _SHEET), (_RIM, 20.0), (-_RIM, 20.0),
    )  # fmt: skip
    base, over = _both(-_TALL - _SHEET, -_TALL), _both(0.0, _SHEET)
    case = _both(-_TALL - _SHEET - 12.0, -_TALL - _SHEET)
    parts: dict[str, list[Polyline]] = {
        "base gasket": base,
        "one base gasket": _both(-_TALL - _SHEET / 2.0, -_TALL),
        "head gasket": over,
        "top": _both(-2.5, 0.0),
        "foot": _both(-_TALL, -_TALL + 2.5),
        "face": [polygon((-_RIM, _SHEET), (-_HALF, _SHEET), (-_HALF, _SHEET + 2.0), (-_RIM, _SHEET + 2.0)),
                 polygon((_RIM, _SHEET), (_HALF, _SHEET), (_HALF, _SHEET + 2.0), (_RIM, _SHEET + 2.0))],
    }  # fmt: skip
    places = {
        "base gasket": -_TALL - 1.5, "one base gasket": -_TALL - 0.7, "head gasket": 1.5, "top": -1.2,
        "foot": -_TALL + 1.2, "face": _SHEET + 1.0,
    }  # fmt: skip
    groups: list[Group] = [
        *barrel(0, 0, 2 * _HALF, _TALL, left=[(36.0, 43.0)], right=[(24.0, 41.0)]),
        *piston(0, -1.0, 2 * _HALF, 34.0, 34.0, dome=2.5),
        group("hatch", Hatch((head,)), *(Hatch((block,), angle_deg=30.0) for block in case)),
        group("outline", head, about="head"),
        group("outline", *case, about="crankcase"),
        group("outline", *base, *over, fill="wash", about="gaskets"),
        group("target", *parts[what], fill="accent", about="what is changed or comes off"),
    ]
    labels = [Label((-25.0, places[what]), (notes[0],))]
    labels += [Label((-25.0, y), (text,)) for y, text in ((14.0, "head"), (-20.0, "barrel"), (-58.0, "crankcase"))]
    groups += column(sorted(labels, key=lambda one: -one.place[1]), edge_mm=-34.0, side="left", dots=True)
    moves = [Label((25.0, -32.0), tuple(notes[1:]))]
    groups += column(moves, edge_mm=34.0, side="right", dots=True)
    return Drawing(name, title, words, tuple(groups))


_WALL = 60.0


def band(name: str, title: str, words: str, kind: Literal["angle", "sink", "narrow", "bowl"]) -> Drawing:
    """One half of the head inside, from the bore wall to the middle, with what is cut out of it."""
    outer, inner, up, mouth, roof = (_WALL, 0.0), (26.0, 5.0), 22.0, (22.0, 14.0), (0.0, 20.0)
    inside = [outer, inner, mouth, (14.0, 20.0), roof]
    head = polygon(*inside, (0.0, up + 6.0), (_WALL + 8.0, up + 6.0), (_WALL + 8.0, 0.0))
    gone = {
        "angle": polygon(outer, inner, (25.0, 8.5)),
        "sink": polygon(outer, inner, (25.0, 8.0), (_WALL, 3.0)),
        "narrow": polygon(inner, (36.0, 3.55), (36.0, 11.0), (23.0, 11.0)),
        "bowl": polygon(inner, mouth, (14.0, 20.0), roof, (0.0, 23.0), (16.0, 23.0), (25.5, 14.5)),
    }[kind]
    crown = polygon((_WALL, -6.0), (0.0, -0.5), (0.0, -14.0), (_WALL, -14.0))
    called = {"angle": "new angle", "sink": "deeper, same angle", "narrow": "wider mouth", "bowl": "more volume"}[kind]
    groups: list[Group] = [
        group("hatch", Hatch((head,)), Hatch((crown,), spacing_mm=1.0)),
        group("outline", head, about="head in section, one half"),
        group("outline", crown, about="crown"),
        group("target", gone, fill="accent wash", about="what comes off"),
        group("today", line(outer, inner)),
        group("centre", line((0.0, -16.0), (0.0, up + 10.0))),
        group("edge", line((_WALL, -14.0), (_WALL, 0.0))),
        group("measured", Dimension((_WALL, -6.0), (_WALL, 0.0), "squish gap", -14.0, NAME_MM, along=False)),
        group("note", Text((_WALL, -18.0), "bore wall", anchor="middle"), Text((0.0, -19.5), "middle", anchor="middle"),
              Text((30.0, -11.0), "piston", NAME_MM), Text((44.0, 22.0), "head", NAME_MM)),
    ]  # fmt: skip
    place = {"angle": (32.0, 5.6), "sink": (40.0, 5.0), "narrow": (31.0, 8.0), "bowl": (20.0, 20.0)}[kind]
    groups += column([Label(place, (called,), NAME_MM)], edge_mm=-8.0, side="left", dots=True)
    return Drawing(name, title, words, tuple(groups))


def skirt(name: str, title: str, words: str) -> Drawing:
    """A piston with the bottom of its skirt taken off on the intake side, and the port it uncovers."""
    groups: list[Group] = [
        *barrel(0, 0, 2 * _HALF, 60.0, left=[(38.0, 52.0)]),
        *piston(0, -2.0, 2 * _HALF, 44.0, 44.0, dome=2.5),
        group("target", rectangle(-_HALF, -46.0, -0.9 * _HALF, -40.0), fill="accent", about="what comes off the skirt"),
        group("measured", Dimension((-_HALF - 9.0, -46.0), (-_HALF - 9.0, -40.0), "off", 8.0, NAME_MM, along=False),
              line((-_HALF - 9.0, -46.0), (-_HALF, -46.0)), line((-_HALF - 9.0, -40.0), (-_HALF, -40.0))),
    ]  # fmt: skip
    labels = [Label((24.0, -20.0), ("the skirt on the other side", "stays as it is")),
              Label((-20.9, -43.0), ("weigh the piston before", "and after"))]  # fmt: skip
    groups += column(labels, edge_mm=34.0, side="right", dots=True)
    port = Label((-25.0, -50.0), ("intake port: open below", "the skirt's end"))
    groups += column([port], edge_mm=-46.0, side="left", dots=True)
    return Drawing(name, title, words, tuple(groups))
