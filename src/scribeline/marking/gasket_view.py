"""Gaskets as flat parts to cut: bore, stud holes and outer edge, seen from above with the exhaust side up."""

from dataclasses import dataclass

from scribeline.errors import SheetError
from scribeline.marking.drafting import Box, bounds
from scribeline.marking.shapes import (
    Circle,
    Dimension,
    Drawing,
    Point,
    Polyline,
    Text,
    group,
    lettering,
    line,
    polar,
    polygon,
)
from scribeline.units import Units, length, length_number

BORE_OVER_MM = 1.0
"""How much wider than the bore a gasket's hole is, so that no edge of it stands into the gas. Judgement."""


@dataclass(frozen=True)
class StudCircle:
    """Studs on one circle round the bore; clock positions, exhaust side = 0, clockwise seen from above."""

    circle_mm: float
    hole_mm: float
    clocks_deg: tuple[float, ...]


@dataclass(frozen=True)
class Gasket:
    """A gasket as it is cut.

    joint : "head" or "base"
    outline_mm : outer edge, points (to the right, towards the exhaust) from the bore's middle
    thickness : in words, such as "0.80 mm copper"
    lacking : what the record does not say, such as passages; printed on the drawing
    units : what its dimensions are written in
    """

    joint: str
    bore_mm: float
    studs: StudCircle | None
    outline_mm: tuple[Point, ...] = ()
    thickness: str = ""
    lacking: tuple[str, ...] = ()
    units: Units = "mm"

    @property
    def name(self) -> str:
        return f"{self.joint}-gasket"


def gasket_drawing(gasket: Gasket) -> Drawing:
    """The gasket at full size.

    SheetError where neither studs nor outer edge are known: a ring alone is no gasket; and where a hole would break
    through the outer edge or into the bore.

    >>> gasket_drawing(Gasket("head", 50.0, StudCircle(68.0, 8.5, (45.0, 135.0, 225.0, 315.0)))).title
    'Head gasket'
    """
    if gasket.studs is None and not gasket.outline_mm:
        raise SheetError(
            f"the {gasket.joint} gasket has neither studs nor an outer edge in the record\n"
            "    accepted: the circle and clock positions of its studs, or points of its outer edge\n"
            "    what to do: measure the old gasket, see docs/howto/measure-gaskets.md"
        )
    bore = 0.5 * (gasket.bore_mm + BORE_OVER_MM)
    _refuse_broken(gasket, bore)
    cuts: list[Circle] = [Circle((0, 0), bore)]
    marks: list[Polyline | Circle] = []
    if gasket.studs is not None:
        for clock in gasket.studs.clocks_deg:
            middle = polar((0, 0), 0.5 * gasket.studs.circle_mm, 90.0 - clock)
            cuts.append(Circle(middle, 0.5 * gasket.studs.hole_mm))
            marks += [line((middle[0] - 3, middle[1]), (middle[0] + 3, middle[1])),
                      line((middle[0], middle[1] - 3), (middle[0], middle[1] + 3))]  # fmt: skip
        marks.append(Circle((0, 0), 0.5 * gasket.studs.circle_mm))
    edge = [polygon(*gasket.outline_mm)] if gasket.outline_mm else []
    reach = bounds([group("cut", *cuts, *edge)])
    cross = [line((reach.left - 4, 0), (reach.right + 4, 0)), line((0, reach.bottom - 4), (0, reach.top + 4))]
    groups = (
        *((group("cut", *edge, about="outer edge"),) if edge else ()),
        group("cut", *cuts, about="bore and stud holes"),
        group("centre", *marks, *cross, about="middles"),
        group("dimension", *_dimensions(gasket, bore, reach)),
        group("note", *_words(gasket, bore, reach)),
    )
    hole = length(2 * bore, gasket.units)
    described = f"A {gasket.joint} gasket seen from above with the exhaust side up, hole {hole} across."
    return Drawing(gasket.name, f"{gasket.joint.capitalize()} gasket", described, groups)


def _refuse_broken(gasket: Gasket, bore: float) -> None:
    from shapely.geometry import Point as Place
    from shapely.geometry import Polygon

    if gasket.outline_mm:
        face = Polygon(gasket.outline_mm)
        if not face.is_valid or not face.contains(Place(0, 0).buffer(bore)):
            raise SheetError(
                f"the outer edge of the {gasket.joint} gasket crosses itself or the bore\n"
                "    accepted: points in order round the edge, outside the bore\n    what to do: measure them again"
            )
        for clock in gasket.studs.clocks_deg if gasket.studs else ():
            assert gasket.studs is not None
            x, y = polar((0, 0), 0.5 * gasket.studs.circle_mm, 90.0 - clock)
            if not face.contains(Place(x, y).buffer(0.5 * gasket.studs.hole_mm)):
                raise SheetError(
                    f"the stud hole at {clock:g}° breaks through the outer edge of the {gasket.joint} gasket\n"
                    "    accepted: holes inside the outer edge\n    what to do: measure both again"
                )


def _dimensions(gasket: Gasket, bore: float, reach: Box) -> list[Dimension]:
    below = reach.bottom - 9.0
    found = [Dimension((-bore, 0), (bore, 0), f"Ø {length_number(2 * bore, gasket.units)}", below)]
    if gasket.studs is not None:
        half = 0.5 * gasket.studs.circle_mm
        across = length_number(2 * half, gasket.units)
        found.append(Dimension((-half, 0), (half, 0), f"studs on Ø {across}", below - 7.0))
    return found


def _words(gasket: Gasket, bore: float, reach: Box) -> list[Text]:
    over = length(BORE_OVER_MM, gasket.units, None) if gasket.units == "inch" else f"{BORE_OVER_MM:g}"
    lines = [f"bore {length_number(gasket.bore_mm, gasket.units)} + {over}"]
    if gasket.studs is not None:
        lines.append(f"{len(gasket.studs.clocks_deg)} holes Ø {length_number(gasket.studs.hole_mm, gasket.units)}")
    if gasket.thickness:
        lines.append(gasket.thickness)
    lines += gasket.lacking
    top = Text((0, reach.top + 5.5), "exhaust side", 2.4, "middle", bold=True)
    return [top, *lettering((reach.left, reach.bottom - 24.0), lines, 2.0)]
