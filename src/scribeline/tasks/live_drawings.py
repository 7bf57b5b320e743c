"""The drawings of the page "Work out": parts that go with the crank stand by themselves, edges have places to hold.

How each is drawn stands in `marking`; here they are filled in, with the engine as measured thin behind what is shown
as if its ports were different.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import asin, degrees

from scribeline.engine import Port
from scribeline.geometry.work_out import WorkedOut
from scribeline.marking.area_plot import HEIGHT_MM as AREAS_TALL_MM
from scribeline.marking.area_plot import WIDTH_MM, AreaCurve, AreaPlot, area_plot, axes_of
from scribeline.marking.bore_view import Bore, Unrolled, bore_view, wall_places
from scribeline.marking.dial_view import Dial, dial_view
from scribeline.marking.drafting import extent
from scribeline.marking.section_view import squish_view, turning_view
from scribeline.marking.shapes import Drawing
from scribeline.tasks.as_if import Side, Travel, opening_edge
from scribeline.tasks.crank_turn import Turn, turn_of
from scribeline.tasks.drawings import advance_deg, area_curves, bore_of, section_of, windows_of
from scribeline.tasks.questions import plain
from scribeline.tasks.work_out_view import Bench, edges
from scribeline.units import Units, length, show_in

AREA_STEP_DEG = 1.0
_NO_ENGINE = "There is nothing to draw yet: the record is no engine so far."


def draw(bench: Bench, name: str) -> Drawing | str:
    """One of DRAWINGS, or the sentence why there is none."""
    if bench.now is None or bench.measured is None:
        return _NO_ENGINE
    return DRAWINGS[name](bench.now, bench.measured, bench.units)


def _bore(now: WorkedOut, measured: WorkedOut, units: Units) -> Drawing | str:
    bore = _live_bore(now, measured, units)
    return "No port's place is known yet: edges, width and the deck clearance are needed." if bore is None else (
        bore_view(bore)
    )  # fmt: skip


def _live_bore(now: WorkedOut, measured: WorkedOut, units: Units) -> Bore | None:
    bore = bore_of(now, units)
    if bore is None:
        return None
    was = bore_of(measured)
    same = {port.name: port for port in was.ports} if was is not None else {}
    changed = tuple(same[port.name] for port in bore.ports if port.name in same and not _alike(port, same[port.name]))
    size = now.record.cylinder.bore_mm.value
    cut_outs = tuple(
        (one.clock_deg.value, degrees(asin(min(one.width_mm.value / size, 1.0))), one.top_from_crown_mm.value)
        for one in now.record.piston.openings
        if one.bottom_from_crown_mm is None
    )
    return replace(bore, measured=changed, piston=Unrolled(cut_outs))


def _alike(one: object, other: object) -> bool:
    """Whether two outlines look the same: all but when they open."""
    return {**vars(one), "opens_deg_atdc": None} == {**vars(other), "opens_deg_atdc": None}


def _section(now: WorkedOut, measured: WorkedOut, units: Units) -> Drawing | str:
    filled = section_of(now, units=units)
    return "The deck clearance is not known yet, and with it no place in the cylinder." if filled is None else (
        turning_view(filled)
    )  # fmt: skip


def _squish(now: WorkedOut, measured: WorkedOut, units: Units) -> Drawing | str:
    filled = section_of(now, units=units)
    drawn = squish_view(filled) if filled is not None else None
    return (
        "No squish band and gap are known: measure the band's inner diameter and the gap." if drawn is None else drawn
    )


def _dial(now: WorkedOut, measured: WorkedOut, units: Units) -> Drawing | str:
    windows = windows_of(now)
    bdc = now.values["bdc_after_tdc_deg"].value
    if not windows or bdc is None:
        return "No port timing is known yet: heights or degrees of the ports' edges are needed."
    return dial_view(Dial(windows, advance_deg(now.record), bdc, hand=True))


def _areas(now: WorkedOut, measured: WorkedOut, units: Units) -> Drawing | str:
    plot = _plot(now, measured)
    return "No open area is known yet: edges and widths of the ports are needed." if plot is None else area_plot(plot)


def _plot(now: WorkedOut, measured: WorkedOut) -> AreaPlot | None:
    curves = tuple(one for one in area_curves(now, AREA_STEP_DEG) if max(one.area_mm2) > 0)
    if not curves:
        return None
    before: tuple[AreaCurve, ...] = ()
    if now is not measured:
        shown = {one.name: one for one in curves}
        before = tuple(
            one for one in area_curves(measured, AREA_STEP_DEG) if one.name in shown and one != shown[one.name]
        )
    return AreaPlot(curves, measured=before, pointer=True)


DRAWINGS: Mapping[str, Callable[[WorkedOut, WorkedOut, Units], Drawing | str]] = {
    "bore": _bore,
    "section": _section,
    "dial": _dial,
    "areas": _areas,
    "squish": _squish,
}


# --- what the browser turns and holds --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Areas:
    """Where the marks on the area plot go: paper mm for a whole turn and for a mm2, the angle at the left end."""

    first_deg: float
    wide_mm: float
    mm_per_mm2: float
    step_deg: float
    mm2: Mapping[str, tuple[float, ...]]


@dataclass(frozen=True)
class Turning:
    """What a page needs to turn the crank by itself.

    pin : where the gudgeon pin is drawn at top dead centre in the section, paper mm, y up
    windows : what is open from where to where, degrees after top dead centre, and of which kind
    marks : the angles at which something opens or closes, with its words
    """

    turn: Turn
    pin: tuple[float, float]
    areas: Areas | None
    windows: tuple[tuple[str, str, float, float], ...]
    marks: tuple[tuple[float, str], ...]


def turning(bench: Bench) -> Turning | None:
    """The table that the page turns the crank by; None where there is no engine yet."""
    if bench.now is None or bench.measured is None:
        return None
    plot = _plot(bench.now, bench.measured)
    areas = None
    if plot is not None:
        first, _, top = axes_of(plot)
        curves = {one.name: tuple(round(mm2, 2) for mm2 in one.area_mm2) for one in plot.curves}
        areas = Areas(first, WIDTH_MM, AREAS_TALL_MM / top, AREA_STEP_DEG, curves)
    turn = turn_of(bench.now)
    filled = section_of(bench.now)
    pin = filled.gudgeon_pin if filled is not None else (0.0, 0.0)
    marks = [(0.0, "top dead centre"), (turn.bdc_deg, "bottom dead centre")]
    windows = windows_of(bench.now)
    for window in windows:
        marks += [(window.opens_deg_atdc, f"{window.name} opens"), (window.closes_deg_atdc, f"{window.name} closes")]
    spans = tuple((one.name, one.kind, one.opens_deg_atdc, one.closes_deg_atdc) for one in windows)
    return Turning(turn, pin, areas, spans, tuple(sorted((round(deg % 360.0, 2), words) for deg, words in marks)))


@dataclass(frozen=True)
class SideBySide:
    """How section and bore lie beside each other with their decks in one line, as views on a drawing do.

    wide : mm of paper for section and bore; down : mm from the upper edge to the deck, of each
    """

    wide: tuple[float, float]
    down: tuple[float, float]


def side_by_side(bench: Bench) -> SideBySide | None:
    """None where one of the two cannot be drawn."""
    if bench.now is None or bench.measured is None:
        return None
    section, bore = section_of(bench.now, units=bench.units), _live_bore(bench.now, bench.measured, bench.units)
    if section is None or bore is None:
        return None
    left, right = extent(turning_view(section)), extent(bore_view(bore))
    return SideBySide((left.width, right.width), (left.top - section.deck_mm, right.top))


@dataclass(frozen=True)
class Held:
    """One edge on the drawing. left, right, top, bottom : the opening it belongs to, in percent of the drawing.

    chief : False for the mirror image of a port, which is held with a finger only
    """

    travel: Travel
    left: float
    right: float
    top: float
    bottom: float
    chief: bool
    words: str


@dataclass(frozen=True)
class Grip:
    """The edges of the bore drawing that can be moved; wide_mm : the width of the whole drawing on its paper."""

    wide_mm: float
    edges: tuple[Held, ...]


def grip(bench: Bench, drawn: Drawing | None = None) -> Grip | None:
    """Where the edges lie on the drawing of the bore; None where there is no such drawing.

    drawn : the drawing, where it was made already
    """
    if bench.now is None or bench.measured is None:
        return None
    bore = _live_bore(bench.now, bench.measured, bench.units)
    if bore is None:
        return None
    box = extent(drawn or bore_view(bore))
    by_port: dict[str, list[Travel]] = {}
    for travel in edges(bench):
        by_port.setdefault(travel.port, []).append(travel)
    held, seen = [], set()
    for placed, x in wall_places(bore):
        chief = placed.port.name not in seen and not placed.mirror
        if chief:
            seen.add(placed.port.name)
        low, high = (100.0 * (x + reach - box.left) / box.width for reach in placed.reach_mm)
        top, bottom = (
            100.0 * (box.top + depth) / box.height
            for depth in (placed.port.roof_depth_mm, placed.port.floor_depth_mm)
        )  # fmt: skip
        for travel in by_port.get(placed.port.name, ()):
            held.append(Held(travel, low, high, top, bottom, chief, edge_in_words(bench, travel)))
    return Grip(box.width, tuple(held))


def edge_in_words(bench: Bench, travel: Travel) -> str:
    """Where an edge is, what it does, and how far it is from where it was measured."""
    said = [f"{length(travel.mm, bench.units)} " + {"width": "straight across"}.get(travel.side, "below the deck")]
    port = port_named(bench, travel.port)
    if port is not None and travel.side == opening_edge(port) and (opens := opening_in_words(bench, port)):
        said.append(opens)
    if travel.by_mm:
        said.append(f"{length(abs(travel.by_mm), bench.units)} {_WAYS[travel.side][travel.by_mm < 0]} than measured")
    return ", ".join(said)


_WAYS: Mapping[Side, tuple[str, str]] = {
    "roof": ("higher", "lower"),
    "floor": ("lower", "higher"),
    "width": ("wider", "narrower"),
}


def port_named(bench: Bench, name: str) -> Port | None:
    """A port of the engine as it is shown."""
    ports = bench.now.record.ports if bench.now is not None else ()
    return next((port for port in ports if port.name == name), None)


def opening_deg(bench: Bench, port: Port) -> float | None:
    """When a port opens: degrees after top dead centre, before it for an intake under the skirt."""
    if bench.now is None:
        return None
    name = "intake_opens_deg_atdc" if port.role == "intake" else f"ports.{port.name}.opens_deg_atdc"
    worked = bench.now.values.get(name)
    if worked is None or worked.value is None:
        return None
    return 360.0 - worked.value if port.role == "intake" else worked.value


def opening_in_words(bench: Bench, port: Port) -> str:
    """When a port opens, in words; empty where nobody knows."""
    angle = opening_deg(bench, port)
    if angle is None:
        return ""
    return f"opens {angle:.1f}° {'before' if port.role == 'intake' else 'after'} top dead centre"


def measured_how(bench: Bench, port: str, side: Side) -> str:
    """Which readings of the record an edge rests on, for the builder who moves it: they move with it."""
    if bench.measured is None:
        return ""
    at = f"ports.{port}.{'width' if side == 'width' else side}_"
    readings = [one for place, one in bench.measured.readings.items() if place.startswith(at) and "radius" not in place]
    words = [
        f"{one.place.removeprefix(f'ports.{port}.').rpartition('_')[0].replace('_', ' ').removesuffix(' deg')} "
        f"{plain(show_in(one.measured.value, one.spec.unit, one.plus_minus, bench.units))}"
        for one in readings
    ]
    return "Measured: " + ", ".join(words) if words else "Measured: its outline"


def ports_in_hand(bench: Bench) -> Iterator[str]:
    """Names of the ports whose edges can be moved, in the order of the record."""
    yield from dict.fromkeys(travel.port for travel in edges(bench))
