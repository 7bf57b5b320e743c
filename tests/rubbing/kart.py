"""Rubbings of the demonstration kart that nobody made: where its ports are on paper, and photographs of them.

The truth is worked out here by arcs of the bore, apart from the code under test. Each picture is made once a run.
"""

from dataclasses import dataclass
from functools import cache
from math import asin, pi

import numpy as np
import numpy.typing as npt

from scribeline.geometry.work_out import work_out
from scribeline.rubbing.markers import MarkerSheet
from scribeline.rubbing.photograph import Photograph
from scribeline.tasks.rubbing_sheet import marker_sheet
from tests.examples import KART, edited
from tests.rubbing.rendering import Camera, Port, paper_of, photograph

BORE_MM, PAPER_MM = 50.0, 0.1
AROUND_MM = pi * BORE_MM


@dataclass(frozen=True)
class Truth:
    """A port as it is in the metal: middle as a clock position, arc of the bore, depths below the deck, radii."""

    clock_deg: float
    arc_mm: float
    roof_mm: float
    floor_mm: float
    upper_mm: float
    lower_mm: float


def _arc(chord_mm: float) -> float:
    return BORE_MM * asin(chord_mm / BORE_MM)


TRUTHS = (
    Truth(0.0, _arc(32.0), 28.6, 50.5, 7.0, 6.0),
    Truth(75.0, _arc(17.5), 37.6, 50.6, 2.5, 2.5),
    Truth(125.0, _arc(11.0), 38.0, 50.6, 2.0, 2.0),
    Truth(180.0, _arc(30.0), 55.0, 74.4, 5.0, 5.0),
    Truth(235.0, _arc(11.0), 38.0, 50.6, 2.0, 2.0),
    Truth(285.0, _arc(17.5), 37.3, 50.6, 2.5, 2.5),
)

CAMERAS = {
    "leaning": Camera(
        2800, 2100, tilt=30, towards=35, turned=12, barrel=0.04, shadow=0.45, noise=0.03, blur_px=1.6, fill=0.85
    ),
    "upside down": Camera(
        2600, 1950, tilt=30, towards=100, turned=-170, barrel=0.06, shadow=0.5, noise=0.04, blur_px=1.5, fill=0.85
    ),
    "sideways": Camera(2600, 1950, tilt=25, towards=200, turned=88, barrel=0.03, shadow=0.3, fill=0.66),
}


@cache
def sheet() -> MarkerSheet:
    """The kart's own marker sheet."""
    return marker_sheet(work_out(edited(name=KART), draws=0), PAPER_MM)


def middle_mm(truth: Truth) -> float:
    """Where the middle of a port lies on the wall, from the exhaust's middle; to the left beyond the seam."""
    clock = truth.clock_deg
    return (clock if clock / 360.0 * AROUND_MM < sheet().right_mm else clock - 360.0) / 360.0 * AROUND_MM


def on_paper(truth: Truth) -> Port:
    """The port as it comes out on the paper, whose middle is half its thickness off the wall."""
    shrink = (BORE_MM - PAPER_MM) / BORE_MM
    left, right = ((middle_mm(truth) + side * truth.arc_mm / 2) * shrink for side in (-1, 1))
    return Port(left, right, truth.roof_mm, truth.floor_mm, truth.upper_mm, truth.lower_mm)


@cache
def rubbed() -> tuple[npt.NDArray[np.float32], float, float]:
    """The rubbed sheet."""
    return paper_of(sheet(), [on_paper(truth) for truth in TRUTHS])


@cache
def pixels(camera: str) -> npt.NDArray[np.uint8]:
    """What a camera saw, 8 bits grey."""
    return photograph(rubbed(), CAMERAS[camera])


def taken(camera: str) -> Photograph:
    """The same as if read from a file without loss."""
    return as_photograph(pixels(camera))


def as_photograph(grey: npt.NDArray[np.uint8]) -> Photograph:
    """Pixels as a photograph."""
    return Photograph("invented", grey.astype(np.float32) / np.float32(255.0), None)
