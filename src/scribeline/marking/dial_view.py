"""The port timing as a dial: one turn of the crank, top dead centre up, turning clockwise.

One ring to a window, the first outermost; its ends stand at the crank angles at which the window opens and closes.
Angles are degrees after true top dead centre. Readable at the width of a phone.
"""

from dataclasses import dataclass

from scribeline.marking.bore_view import after_or_before
from scribeline.marking.drafting import arrow
from scribeline.marking.labels import Label, column, wrapped
from scribeline.marking.port_outline import PortKind
from scribeline.marking.shapes import (
    NAME_MM,
    Circle,
    Drawing,
    Fill,
    Group,
    Point,
    Polyline,
    Text,
    arc,
    group,
    line,
    polar,
    ring_sector,
)

_RADIUS_MM = 24.0
_MIDDLE_MM = 4.0  # the innermost ring's inner radius
_RAY_MM = 2.5  # how far rays stand out of the dial
_LABEL_MM = 19.0
_FILLS: dict[PortKind, Fill] = {"exhaust": "accent wash", "transfer": "wash", "intake": "paper"}


@dataclass(frozen=True)
class Window:
    """From where to where a port, or a set of ports, is open: crank degrees after top dead centre, 0 to 360."""

    name: str
    kind: PortKind
    opens_deg_atdc: float
    closes_deg_atdc: float

    @property
    def duration_deg(self) -> float:
        return (self.closes_deg_atdc - self.opens_deg_atdc) % 360.0


@dataclass(frozen=True)
class Dial:
    """What the dial shows. bdc_deg_atdc is not quite 180 where the gudgeon pin is offset.

    hand : with a hand at top dead centre that a page turns with the crank
    """

    windows: tuple[Window, ...]
    ignition_deg_btdc: float | None = None
    bdc_deg_atdc: float = 180.0
    name: str = "dial"
    hand: bool = False

    @property
    def blowdown_deg_atdc(self) -> tuple[float, float] | None:
        """From the earliest opening of an exhaust window to the earliest of a transfer window, where that is later."""
        exhaust = min((w.opens_deg_atdc for w in self.windows if w.kind == "exhaust"), default=None)
        transfer = min((w.opens_deg_atdc for w in self.windows if w.kind == "transfer"), default=None)
        if exhaust is None or transfer is None or transfer <= exhaust:
            return None
        return exhaust, transfer


def dial_view(dial: Dial, before: Dial | None = None) -> Drawing:
    """The timing dial, about 110 mm across with its labels.

    before : another dial, whose windows are drawn over it in broken lines where they differ, with their angles

    >>> dial_view(Dial((Window("exhaust", "exhaust", 90.0, 270.0),))).title
    'Port timing'
    """
    pitch = min(6.0, (_RADIUS_MM - 1.0 - _MIDDLE_MM) / max(1, len(dial.windows)))
    bands: list[Group] = []
    over: list[Group] = []
    rays: list[Polyline] = []
    labels: list[tuple[float, Label]] = []
    blowdown = dial.blowdown_deg_atdc
    old = {one.name: one for one in before.windows} if before else {}
    for i, window in enumerate(dial.windows):
        outer = _RADIUS_MM - 1.0 - i * pitch
        inner = outer - 0.8 * pitch
        opens, closes = window.opens_deg_atdc, window.opens_deg_atdc + window.duration_deg
        band = ring_sector((0, 0), inner, outer, _paper_deg(opens), _paper_deg(closes))
        bands.append(group(window.kind, band, fill=_FILLS[window.kind], about=_in_words(window)))
        was = old.get(window.name, window)
        if _apart(was.opens_deg_atdc, opens) or _apart(was.closes_deg_atdc, window.closes_deg_atdc):
            ends = was.opens_deg_atdc, was.opens_deg_atdc + was.duration_deg
            dashed = ring_sector((0, 0), inner, outer, *map(_paper_deg, ends))
            over.append(group("today", dashed, about=f"as it is: {_in_words(was)}"))
        if blowdown and window.kind == "exhaust" and opens == blowdown[0]:
            span = ring_sector((0, 0), inner, outer, *map(_paper_deg, blowdown))
            degrees = blowdown[1] - blowdown[0]
            bands.append(group("exhaust", span, fill="accent", about=f"blowdown, {degrees:.1f}°"))
            middle = 0.5 * sum(blowdown)
            rays.append(line(polar((0, 0), outer, _paper_deg(middle)), _ray_end(middle)))
            start, end = (before and before.blowdown_deg_atdc) or blowdown
            labels.append(_label(middle, "blowdown", f"{degrees:.1f}°", *_was(end - start, degrees)))
        height = min(NAME_MM, 0.65 * pitch)
        flat_deg = next((deg for deg in (180.0, 360.0) if opens < deg < closes), 0.5 * (opens + closes))
        x, y = polar((0, 0), 0.5 * (inner + outer), _paper_deg(flat_deg))
        duration = Text((x, y - 0.5 * height), f"{window.duration_deg:.0f}°", height, "middle")
        bands.append(group("note", duration))
        for happens, deg, then in (
            ("opens", opens, was.opens_deg_atdc), ("closes", closes % 360.0, was.closes_deg_atdc % 360.0),
        ):  # fmt: skip
            rays.append(line(polar((0, 0), inner, _paper_deg(deg)), _ray_end(deg)))
            labels.append(_label(deg, *wrapped(f"{window.name} {happens}", _LABEL_MM, NAME_MM), f"{deg:.1f}°",
                                 *_was(then, deg)))  # fmt: skip
    groups = [*bands, *over, group("dimension", *rays), *_dead_centres(dial), *_turning()]
    if dial.ignition_deg_btdc is not None:
        deg = -dial.ignition_deg_btdc
        spark = polar((0, 0), _RADIUS_MM - 5.0, _paper_deg(deg)), _ray_end(deg)
        words = f"ignition, {after_or_before(deg % 360.0)}"
        groups.append(group("measured", line(*spark), about=words))
        groups.append(group("measured", Circle(spark[0], 0.7), fill="accent"))
        labels.append(_label(deg % 360.0, "ignition", *after_or_before(deg % 360.0).split()))
    if dial.hand:
        tip = (0.0, _RADIUS_MM + _RAY_MM)
        groups.append(group("outline", line((0.0, 3.5), tip), about="crank", moves="hand"))
        groups.append(group("outline", arrow(tip, 90.0, 3.2), fill="ink", moves="hand"))
    for side in ("left", "right"):
        beside = [label for deg, label in labels if (deg <= 180.0) == (side == "right")]
        edge = _RADIUS_MM + _RAY_MM + 1.0
        groups += column(beside, edge_mm=edge if side == "right" else -edge, side=side)
    return Drawing(dial.name, "Port timing", _description(dial), tuple(groups), margin_mm=2.0)


def _apart(was: float, now: float) -> bool:
    """Whether two angles are told as two."""
    return abs(was - now) >= 0.05


def _was(was: float, now: float) -> tuple[str, ...]:
    return (f"was {was:.1f}°",) if _apart(was, now) else ()


def _paper_deg(deg_atdc: float) -> float:
    """Top dead centre up and clockwise, as an angle counter-clockwise from the right."""
    return 90.0 - deg_atdc


def _ray_end(deg_atdc: float) -> Point:
    return polar((0, 0), _RADIUS_MM + _RAY_MM, _paper_deg(deg_atdc))


def _label(deg_atdc: float, *lines: str) -> tuple[float, Label]:
    return deg_atdc, Label(_ray_end(deg_atdc), lines, NAME_MM)


def _dead_centres(dial: Dial) -> list[Group]:
    ticks = []
    for tick in range(0, 360, 10):
        long = 1.6 if tick % 30 == 0 else 0.9
        ticks.append(line(polar((0, 0), _RADIUS_MM, tick), polar((0, 0), _RADIUS_MM + long, tick)))
    marks, words = [], []
    for name, deg in (("TDC", 0.0), ("BDC", dial.bdc_deg_atdc)):
        tip = polar((0, 0), _RADIUS_MM, _paper_deg(deg))
        marks.append(line(tip, _ray_end(deg)))
        away = _RAY_MM + 1.2 if deg == 0.0 else -_RAY_MM - 1.2 - NAME_MM
        words.append(Text((tip[0], tip[1] + away), name, NAME_MM, "middle"))
    return [
        group("scale", Circle((0, 0), _RADIUS_MM), *ticks, about="crank degrees, a tick every ten"),
        group("outline", *marks),
        group("note", *words),
    ]


def _turning() -> list[Group]:
    """A curved arrow round the middle: the crank turns clockwise."""
    way = arc((0, 0), 2.6, 160.0, 30.0)
    return [
        group("note", way, about="the crank turns clockwise"),
        group("note", arrow(way.points[1], -45.0, 1.8), fill="ink"),
        group("outline", Circle((0, 0), 0.6), fill="ink"),
    ]


def _in_words(window: Window) -> str:
    return (
        f"{window.name} opens {window.opens_deg_atdc:.1f}° and closes {window.closes_deg_atdc:.1f}° after top dead "
        f"centre, open for {window.duration_deg:.1f}°"
    )


def _description(dial: Dial) -> str:
    sentences = ["One turn of the crank as a dial, top dead centre up, turning clockwise."]
    sentences += [f"{_in_words(window)}." for window in dial.windows]
    if dial.blowdown_deg_atdc:
        start, end = dial.blowdown_deg_atdc
        sentences.append(f"Blowdown lasts {end - start:.1f}°, from {start:.1f}° to {end:.1f}°.")
    if dial.ignition_deg_btdc is not None:
        sentences.append(f"Ignition {after_or_before(-dial.ignition_deg_btdc % 360.0)}.")
    return " ".join(sentences)
