"""Puts pages on paper as a printer would, and measures them there: poppler for PDF, a real browser for SVG.

Knows nothing of the code that draws. Without these programs the tests are skipped with the reason; in CI, which can
install them, that is a failure.
"""

import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

DPI = 600
PX_PER_MM = DPI / 25.4
Ink = npt.NDArray[np.float64]


def program(name: str, package: str) -> str:
    """Where a program is, or the test is skipped."""
    found = shutil.which(name)
    if found is None:
        reason = f"{name} is not installed (Debian: {package})"
        if os.environ.get("CI") and os.geteuid() == 0:
            pytest.fail(f"{reason}; in CI this is not skipped")
        pytest.skip(reason)
    return found


def on_paper(pdf: bytes, folder: Path, dpi: int = DPI) -> list["Print"]:
    """Every page of a PDF as a printer of `dpi` dots per inch puts it on paper."""
    (folder / "printed.pdf").write_bytes(pdf)
    command = [program("pdftoppm", "poppler-utils"), "-r", str(dpi), "-gray", "printed.pdf", "page"]
    subprocess.run(command, cwd=folder, check=True, capture_output=True)
    return [Print(_ink(path), dpi / 25.4) for path in sorted(folder.glob("page-*.pgm"))]


def _ink(path: Path) -> Ink:
    """A grey picture as ink: 0 white, 1 black; first index up the paper."""
    import cv2

    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    assert grey is not None
    ink: Ink = 1.0 - grey[::-1].astype(np.float64) / 255.0
    return ink


class Print:
    """One printed page; everything in millimetres from the lower left corner of the paper."""

    def __init__(self, ink: Ink, px_per_mm: float) -> None:
        self.ink, self.px_per_mm = ink, px_per_mm

    @property
    def size_mm(self) -> tuple[float, float]:
        high, wide = self.ink.shape
        return wide / self.px_per_mm, high / self.px_per_mm

    def part(self, left: float, bottom: float, right: float, top: float) -> Ink:
        x0, y0, x1, y1 = (round(mm * self.px_per_mm) for mm in (left, bottom, right, top))
        return self.ink[y0:y1, x0:x1]

    def upright_line(self, about_x: float, low: float, high: float, within: float = 1.0) -> float:
        """Middle of the one upright line near x that runs from `low` to `high`: the centre of its ink."""
        part = self.part(about_x - within, low, about_x + within, high).mean(axis=0)
        return self._centre(part, about_x - within)

    def level_line(self, about_y: float, left: float, right: float, within: float = 1.0) -> float:
        """Middle of the one level line near y that runs from `left` to `right`."""
        part = self.part(left, about_y - within, right, about_y + within).mean(axis=1)
        return self._centre(part, about_y - within)

    def _centre(self, profile: npt.NDArray[np.float64], begin_mm: float) -> float:
        assert profile.max() > 0.2, "no line is printed there"
        profile = np.where(profile > 0.15, profile, 0.0)  # a wash is no line
        dark = np.flatnonzero(profile)
        assert dark[-1] - dark[0] < 1.2 * self.px_per_mm, "more than one line is printed there"
        places = (round(begin_mm * self.px_per_mm) + np.arange(profile.size) + 0.5) / self.px_per_mm
        return float(np.sum(places * profile) / np.sum(profile))
