"""Engines to draw, invented: one like the demonstration kart, and ones that make drawing hard."""

import math

import numpy as np
import numpy.typing as npt

from scribeline.marking.area_plot import AreaCurve, AreaPlot, area_plot
from scribeline.marking.bore_view import Bore, bore_view
from scribeline.marking.dial_view import Dial, Window, dial_view
from scribeline.marking.measuring_views import MEASUREMENTS, measuring_drawing
from scribeline.marking.pipe_view import Pipe, PipeSection, pipe_view
from scribeline.marking.port_outline import PortOutline
from scribeline.marking.section_view import Section, WallOpening, section_view
from scribeline.marking.shapes import Drawing
from scribeline.marking.squish_detail import SquishBand


def arc_of_chord(bore_mm: float, chord_mm: float) -> float:
    """Closed form: the arc over a chord of the bore."""
    return bore_mm * math.asin(chord_mm / bore_mm)


KART_EXHAUST = PortOutline("exhaust", "exhaust", 0.0, 29.1, 50.5, arc_of_chord(50.02, 32.0), 7.0, 6.0,
                           opens_deg_atdc=89.0)  # fmt: skip
KART_BORE = Bore(
    50.02,
    (
        KART_EXHAUST,
        PortOutline("main transfer", "transfer", 75.0, 37.6, 50.6, arc_of_chord(50.02, 17.5), 2.5, 2.5,
                    mirrored=True, opens_deg_atdc=111.9),
        PortOutline("rear transfer", "transfer", 125.0, 38.0, 50.6, arc_of_chord(50.02, 11.0), 2.0, 2.0,
                    mirrored=True, opens_deg_atdc=113.2),
        PortOutline("intake", "intake", 180.0, 55.0, 72.8, arc_of_chord(50.02, 30.0), 5.0, 5.0,
                    opens_deg_atdc=281.5),
    ),
    0.62,
    50.63,
    59.62,
    52.62,
    (160.0, 200.0),
)  # fmt: skip

# Five transfers, three exhausts with a bridge, an intake under the boost port, and a small bore.
CROWDED_BORE = Bore(
    40.0,
    (
        PortOutline("main exhaust", "exhaust", 0.0, 24.0, 42.0, 24.0, 6.0, 5.0, bridge_mm=2.5, opens_deg_atdc=84.0),
        PortOutline("auxiliary exhaust", "exhaust", 48.0, 23.0, 33.0, 7.5, 3.0, 3.0, mirrored=True,
                    opens_deg_atdc=82.0),
        PortOutline("main transfer", "transfer", 78.0, 34.0, 42.0, 12.0, 2.0, 2.0, mirrored=True,
                    opens_deg_atdc=113.0),
        PortOutline("secondary transfer", "transfer", 122.0, 34.5, 42.0, 12.0, 2.0, 2.0, mirrored=True,
                    opens_deg_atdc=114.0),
        PortOutline("boost", "transfer", 180.0, 34.2, 42.0, 9.0, 2.0, 2.0, opens_deg_atdc=113.5),
        PortOutline("intake", "intake", 180.0, 46.0, 60.0, 24.0, 5.0, 5.0, opens_deg_atdc=281.5),
    ),
    0.4,
    42.3,
    51.0,
    47.5,
    (140.0, 150.0, 220.0),
    name="crowded-bore",
)  # fmt: skip

BARE_BORE = Bore(38.0, (), 0.0, 38.0, name="bare-bore")

KART_DIAL = Dial(
    (
        Window("exhaust", "exhaust", 89.0, 271.4),
        Window("transfer", "transfer", 111.9, 248.7),
        Window("intake", "intake", 281.5, 78.5),
    ),
    18.0,
    180.4,
)
CROWDED_DIAL = Dial(
    (
        Window("main exhaust", "exhaust", 84.0, 276.0),
        Window("auxiliary exhaust", "exhaust", 82.0, 278.0),
        Window("main transfer", "transfer", 113.0, 247.0),
        Window("secondary transfer", "transfer", 114.0, 246.0),
        Window("boost", "transfer", 113.5, 246.5),
        Window("rotary disc", "intake", 215.0, 65.0),
    ),
    18.0,
    name="crowded-dial",
)

KART_SECTION = Section(
    50.02, 50.0, 100.0, 31.0, 59.0, 52.0, 0.62, 0.7, 16.0, dome_height_mm=2.5, pin_offset_mm=0.5,
    crank_deg_atdc=89.0, band=SquishBand(1.42, 34.0, 50.02, 9.0, 8.0),
    openings=(WallOpening("exhaust", "exhaust", 29.1, 50.5), WallOpening("intake", "intake", 55.0, 72.8)),
    assumed=("compression height", "chamber shape"),
)  # fmt: skip
# Piston proud of the deck at top dead centre, a wide flat band, a bowl.
SMALL_SECTION = Section(
    40.0, 38.0, 80.0, 24.0, 40.0, 40.0, -0.2, 0.5, 9.0, chamber_floor_mm=16.0, crank_deg_atdc=0.0,
    band=SquishBand(0.7, 14.0, 40.0), openings=(WallOpening("exhaust", "exhaust", 21.0, 38.0),), name="small-section",
)  # fmt: skip
PLAIN_SECTION = Section(72.0, 72.0, 144.0, 40.0, 80.0, 80.0, 0.0, 0.0, 12.0, crank_deg_atdc=180.0,
                        name="plain-section")  # fmt: skip

KART_PIPE = Pipe(
    (
        PipeSection("header", 240.0, 34.0, 38.0, 80.0),
        PipeSection("diffuser", 255.0, 38.0, 82.0),
        PipeSection("belly", 110.0, 82.0, 82.0),
        PipeSection("baffle", 195.0, 82.0, 21.5),
        PipeSection("stinger", 240.0, 21.5, 21.5),
    )
)
CROWDED_PIPE = Pipe(
    (
        PipeSection("flange", 12.0, 30.0, 30.5),
        PipeSection("header", 140.0, 30.5, 33.0, 80.0),
        PipeSection("first diffuser", 55.0, 33.0, 45.0),
        PipeSection("second diffuser", 45.0, 45.0, 60.0),
        PipeSection("third diffuser", 35.0, 60.0, 70.0),
        PipeSection("belly", 10.0, 70.0, 70.0),
        PipeSection("first baffle", 50.0, 70.0, 40.0),
        PipeSection("second baffle", 20.0, 42.0, 18.0),
        PipeSection("", 160.0, 18.0, 18.0),
        PipeSection("silencer", 20.0, 60.0, 60.0),
    ),
    "crowded-pipe",
)

THETA_DEG = np.arange(0.0, 360.0, 0.5)


def hump(opens_deg: float, closes_deg: float, highest_mm2: float) -> npt.NDArray[np.float64]:
    """A smooth area between two angles; any shape would do."""
    duration = (closes_deg - opens_deg) % 360.0
    since = (THETA_DEG - opens_deg) % 360.0
    return np.where(since < duration, highest_mm2 * np.sin(np.pi * since / duration), 0.0)


def curve(name: str, window: Window, highest_mm2: float) -> AreaCurve:
    opens, closes = window.opens_deg_atdc, window.closes_deg_atdc
    return AreaCurve(name, window.kind, THETA_DEG.tolist(), hump(opens, closes, highest_mm2).tolist(), opens, closes)


KART_AREAS = AreaPlot(
    tuple(curve(one.name, one, area) for one, area in zip(KART_DIAL.windows, (660.0, 720.0, 530.0), strict=True))
)
# Windows that leave no crank angle at which everything is shut.
CROWDED_AREAS = AreaPlot(
    (
        curve("exhaust", Window("", "exhaust", 82.0, 278.0), 900.0),
        curve("transfer", Window("", "transfer", 113.0, 247.0), 890.0),
        curve("rotary disc", Window("", "intake", 215.0, 95.0), 400.0),
    ),
    "crowded-areas",
)

DRAWINGS: dict[str, Drawing] = {
    drawing.name: drawing
    for drawing in (
        bore_view(KART_BORE),
        bore_view(CROWDED_BORE),
        bore_view(BARE_BORE),
        dial_view(KART_DIAL),
        dial_view(CROWDED_DIAL),
        section_view(KART_SECTION),
        section_view(SMALL_SECTION),
        section_view(PLAIN_SECTION),
        pipe_view(KART_PIPE),
        pipe_view(CROWDED_PIPE),
        area_plot(KART_AREAS),
        area_plot(CROWDED_AREAS),
    )
} | {f"measuring-{name}": measuring_drawing(name) for name in MEASUREMENTS}
