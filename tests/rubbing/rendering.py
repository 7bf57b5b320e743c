"""Photographs of rubbings that were never taken, with a known truth.

Everything here is written from the camera's side and shares nothing with the code under test but where markers stand:
paper is drawn as a brightness per point, seen through a pinhole with a curved lens, lit unevenly, blurred, made noisy,
packed as JPEG. How a pencil greys paper over metal and rims its edges is judgement, no source.
"""

from dataclasses import dataclass
from math import cos, pi, radians, sin
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from scribeline.rubbing.markers import MARKER_MM, MarkerSheet, cells

PAPER_PX_PER_MM = 14.0


@dataclass(frozen=True)
class Port:
    """A rounded rectangle on the paper: sides [mm] and radii of its upper and lower corners."""

    left: float
    right: float
    roof: float
    floor: float
    upper: float
    lower: float

    def distance(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Outside positive, by squares and quarter circles."""
        mx, my = 0.5 * (self.left + self.right), 0.5 * (self.roof + self.floor)
        r = np.where(y < my, self.upper, self.lower)
        dx = np.abs(x - mx) - (0.5 * (self.right - self.left) - r)
        dy = np.abs(y - my) - (0.5 * (self.floor - self.roof) - r)
        return np.hypot(np.maximum(dx, 0), np.maximum(dy, 0)) + np.minimum(np.maximum(dx, dy), 0) - r


@dataclass(frozen=True)
class Polygon:
    """A polygon with sharp corners grown by a radius; corners clockwise as seen on paper."""

    corners: tuple[tuple[float, float], ...]
    radius: float

    def distance(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        corners = np.array(self.corners)
        inside = np.ones(x.shape, bool)
        nearest = np.full(x.shape, np.inf)
        for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            t = np.clip(((x - a[0]) * (b - a)[0] + (y - a[1]) * (b - a)[1]) / ((b - a) @ (b - a)), 0, 1)
            nearest = np.minimum(nearest, np.hypot(x - a[0] - t * (b - a)[0], y - a[1] - t * (b - a)[1]))
            inside &= (b - a)[0] * (y - a[1]) - (b - a)[1] * (x - a[0]) > 0
        return np.where(inside, -nearest, nearest) - self.radius


@dataclass(frozen=True)
class Camera:
    """How the picture is taken. Angles in degrees; barrel : share by which the corner of the picture moves inwards."""

    across_px: int = 4000
    down_px: int = 3000
    tilt: float = 0.0
    towards: float = 0.0
    turned: float = 0.0
    barrel: float = 0.0
    blur_px: float = 1.2
    noise: float = 0.02
    shadow: float = 0.0
    fill: float = 0.82
    quality: int = 90
    creased_mm: float = 0.0


def paper_of(
    sheet: MarkerSheet,
    ports: list[Port | Polygon],
    *,
    seed: int = 1,
    grey: float = 0.45,
    rim: float = 0.3,
    rim_mm: float = 0.25,
    without: tuple[int, ...] = (),
) -> tuple[np.ndarray, float, float]:
    """Brightness of the rubbed sheet, PAPER_PX_PER_MM fine, and its left and top end [mm], with a border of table."""
    border = 12.0
    left, top = sheet.left_mm - border, sheet.top_mm - border
    columns = round((sheet.right_mm - sheet.left_mm + 2 * border) * PAPER_PX_PER_MM)
    rows = round((sheet.bottom_mm - sheet.top_mm + 2 * border) * PAPER_PX_PER_MM)
    x = left + (np.arange(columns) + 0.5) / PAPER_PX_PER_MM
    y = top + (np.arange(rows) + 0.5) / PAPER_PX_PER_MM
    xx, yy = np.meshgrid(x.astype(np.float32), y.astype(np.float32))
    random = np.random.default_rng(seed)
    rubbed = (xx > sheet.left_mm + 0.15) & (xx < sheet.right_mm - 0.15) & (yy > 2.5) & (yy < sheet.lower_row_mm - 6.5)
    density = np.where(rubbed, np.float32(grey), np.float32(0.0))
    for port in ports:
        box = _near(port, left, top, rows, columns)
        d = port.distance(xx[box], yy[box]).astype(np.float32)
        density[box] += np.where((d >= 0) & rubbed[box], rim * np.exp(-np.maximum(d, 0) / rim_mm), 0)
        density[box] = np.where(d < 0, np.float32(0.04), density[box])
    grain = random.standard_normal((rows, columns), dtype=np.float32)
    grain = cv2.GaussianBlur(grain, (0, 0), 0.1 * PAPER_PX_PER_MM)
    grain /= grain.std()
    strokes = random.standard_normal((rows, columns // 8), dtype=np.float32)  # smooth across: an eighth is enough
    strokes = cv2.GaussianBlur(strokes, (0, 0), sigmaX=6 / 8 * PAPER_PX_PER_MM, sigmaY=0.2 * PAPER_PX_PER_MM)
    strokes = cv2.resize(strokes / strokes.std(), (columns, rows), interpolation=cv2.INTER_LINEAR)
    density *= np.clip(1.0 + 0.22 * grain + 0.15 * strokes, 0.0, None)
    paper = 0.93 * (1.0 - np.clip(density, 0, 0.93))
    on_paper = (xx > sheet.left_mm) & (xx < sheet.right_mm) & (yy > sheet.top_mm) & (yy < sheet.bottom_mm)
    paper = np.where(on_paper, paper, 0.30)
    paper[(np.abs(yy) < 0.09) & on_paper] = 0.08
    cell = MARKER_MM / 7.0
    for one in sheet.markers:
        if one.number in without:
            continue
        black = cells(one.number)
        up, aside = one.down_mm - 0.5 * MARKER_MM, one.across_mm - 0.5 * MARKER_MM
        i, j = np.floor((y - up) / cell).astype(int), np.floor((x - aside) / cell).astype(int)
        down, across = (np.flatnonzero((k >= 0) & (k < 7)) for k in (i, j))
        here = np.ix_(down, across)
        paper[here] = np.where(black[np.ix_(i[down], j[across])], 0.07, paper[here])
    return paper.astype(np.float32), left, top


def _near(port: Port | Polygon, left: float, top: float, rows: int, columns: int) -> tuple[slice, slice]:
    """The part of the paper within 3 mm of a port."""
    x = [port.left, port.right] if isinstance(port, Port) else [c[0] for c in port.corners]
    y = [port.roof, port.floor] if isinstance(port, Port) else [c[1] for c in port.corners]
    reach = 3.0 if isinstance(port, Port) else 3.0 + port.radius
    across = [round((v - left) * PAPER_PX_PER_MM) for v in (min(x) - reach, max(x) + reach)]
    down = [round((v - top) * PAPER_PX_PER_MM) for v in (min(y) - reach, max(y) + reach)]
    return slice(max(down[0], 0), min(down[1], rows)), slice(max(across[0], 0), min(across[1], columns))


def photograph(paper: tuple[np.ndarray, float, float], camera: Camera, seed: int = 2) -> np.ndarray:
    """What the camera sees of the paper, 8 bits grey."""
    brightness, left, top = paper
    height_mm, width_mm = (n / PAPER_PX_PER_MM for n in brightness.shape)
    middle = np.array([left + 0.5 * width_mm, top + 0.5 * height_mm])
    focal = 1.1 * camera.across_px
    distance = focal * width_mm / (camera.fill * camera.across_px)
    u, v = np.meshgrid(*(np.arange(n, dtype=np.float32) for n in (camera.across_px, camera.down_px)))
    reach = 0.5 * np.hypot(camera.across_px - 1, camera.down_px - 1)
    px, py = (u - 0.5 * (camera.across_px - 1)) / reach, (v - 0.5 * (camera.down_px - 1)) / reach
    ix, iy = px.copy(), py.copy()
    for _ in range(5):  # where a lens without curve would have shown it
        share = 1.0 - camera.barrel * (ix * ix + iy * iy)
        ix, iy = px / share, py / share
    rays = np.stack([ix * (reach / focal), iy * (reach / focal), np.ones_like(ix)]).astype(np.float32)
    a, b, c = radians(camera.tilt), radians(camera.towards), radians(camera.turned)
    turn_in_plane = np.array([[cos(c), -sin(c), 0], [sin(c), cos(c), 0], [0, 0, 1]])
    about = np.array([[cos(b), -sin(b), 0], [sin(b), cos(b), 0], [0, 0, 1]])
    lean = np.array([[1, 0, 0], [0, cos(a), -sin(a)], [0, sin(a), cos(a)]])
    turn = (about @ lean @ about.T @ turn_in_plane).astype(np.float32)  # paper to camera
    at = np.array([0.0, 0.0, distance], np.float32)
    normal = turn[:, 2]
    reached = (normal @ at) / np.tensordot(normal, rays, axes=1)
    on_paper = np.tensordot(turn.T, rays * reached - at[:, None, None], axes=1)
    x, y = on_paper[0], on_paper[1]
    if camera.creased_mm:
        y = y + camera.creased_mm * np.sin(2 * pi * x / 60.0)
    grid_x = ((x + middle[0] - left) * PAPER_PX_PER_MM - 0.5).astype(np.float32)
    grid_y = ((y + middle[1] - top) * PAPER_PX_PER_MM - 0.5).astype(np.float32)
    soft = cv2.GaussianBlur(brightness, (0, 0), 0.3 * PAPER_PX_PER_MM * width_mm / (camera.fill * camera.across_px))
    seen = cv2.remap(soft, grid_x, grid_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0.3)
    light = 0.95 - 0.25 * (px + 1) / 2 - 0.1 * (py + 1) / 2
    edge = 1.0 / (1.0 + np.exp(-(0.7 * px + 0.5 * py - 0.1) / 0.06))
    seen = seen * light * (1.0 - camera.shadow * edge)
    seen = cv2.GaussianBlur(seen.astype(np.float32), (0, 0), camera.blur_px) if camera.blur_px else seen
    random = np.random.default_rng(seed)
    seen = seen + camera.noise * random.standard_normal(seen.shape, dtype=np.float32)
    return np.clip(seen * 255 + 0.5, 0, 255).astype(np.uint8)


def save(picture: np.ndarray, path: Path, quality: int = 90) -> Path:
    """Write it as a camera would."""
    Image.fromarray(picture).save(path, quality=quality)
    return path
