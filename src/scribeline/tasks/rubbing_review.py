"""A photograph of a rubbing as it is looked at and corrected on a page: plain data, worked out in a worker process.

What the program saw is an `OpeningShown`; one that somebody has corrected by hand is the same with another shape. Both
become ports by the same rules as on the command line (`rubbing.with_ports`).
"""

import base64
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from math import isfinite, pi
from pathlib import Path
from typing import Any, Literal

import numpy as np
from PIL import Image
from shapely import LineString, Polygon

from scribeline.engine import EngineRecord, read_record
from scribeline.errors import RubbingError
from scribeline.geometry.work_out import work_out
from scribeline.rubbing.edges import Opening
from scribeline.rubbing.flattening import find_markers
from scribeline.rubbing.markers import MarkerSheet, corners_mm
from scribeline.rubbing.outlines import Outline, rounded_rectangle
from scribeline.rubbing.photograph import Grey, open_photograph
from scribeline.rubbing.reading import Reading, Seen, read_rubbing
from scribeline.tasks.rubbing import Found, Rubbing, named
from scribeline.tasks.rubbing_report import not_found, unlike_pairs
from scribeline.tasks.rubbing_scan import Scan
from scribeline.tasks.rubbing_sheet import marker_sheet

BY_HAND_MM = 0.2
"""Judgement, for about 95 %: how well an edge is laid by eye on the edge of pencil in a straightened picture."""
MOST_POINTS = 36
"""Points of a free outline that are offered to be moved; more cannot be told apart under a finger."""
_PICTURE_PX = 1800
_PHOTO_PX = 1100
_SCAN_PX = 2400  # a mark is set on it, eight times enlarged

Kind = Literal["rounded rectangle", "points"]


@dataclass(frozen=True)
class Shape:
    """An outline as it can be corrected, in mm on the wall: across from the exhaust's middle, down from the deck.

    edges : left, right, roof, floor, radius above, radius below, of a rounded rectangle; points : of any other
    """

    kind: Kind
    edges: tuple[float, ...] = ()
    points: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class OpeningShown:
    """One opening on the page. port : its name in the record, "" for a stranger; second : it is the mirror image.

    edge_mm, radius_mm : +/- of an edge and of a radius for about 95 %, of the photograph alone
    by_hand : somebody has corrected it
    """

    number: int
    port: str
    second: bool
    clock_deg: float
    shape: Shape
    edge_mm: float
    radius_mm: float
    bridge_mm: float | None
    doubt: str
    by_hand: bool = False


@dataclass(frozen=True)
class MarkerShown:
    """A marker on the small photograph, its four corners in pixels; found, or where it should be."""

    number: int
    corners: tuple[tuple[float, float], ...]
    found: bool


@dataclass(frozen=True)
class Review:
    """A photograph as it is looked at. refusal : why nothing could be measured in it, "" where it could

    photo, photo_px : the photograph made small, as a data address, and its size; flat, flat_mm : the paper laid flat,
    and left, top, right and bottom of it in mm, y downwards
    """

    refusal: str
    photo: str
    photo_px: tuple[int, int]
    markers: tuple[MarkerShown, ...]
    missing: tuple[int, ...]
    flat: str = ""
    flat_mm: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0)
    residual_mm: float = 0.0
    openings: tuple[OpeningShown, ...] = ()
    not_found: tuple[str, ...] = ()
    unlike: tuple[str, ...] = ()


def review(
    photograph: Path, record: str, paper_mm: float, printed: tuple[float, float], scan: Scan | None = None
) -> Review:
    """Everything that a page shows of a photograph; `record` as text, the others as `measure_rubbing`.

    scan : of a flat scan without markers; until its marks are laid, only the picture itself is shown
    Raises RecordError for a record that is none, RubbingError for a picture that cannot be opened. What cannot be
    measured in a picture that can is a Review with its refusal, and with the markers that were found.
    """
    engine = read_record(record, "the record in hand")
    sheet = marker_sheet(work_out(engine, draws=0), paper_mm)
    picture = open_photograph(photograph)
    rows, columns = picture.grey.shape
    if scan is not None and scan.to_lay:
        return Review("", *_made_small(picture.grey, _SCAN_PX), (), ())
    try:
        bore = engine.cylinder.bore_mm.value
        marks = None if scan is None else scan.on(columns, rows)
        reading = read_rubbing(picture, sheet, bore_mm=bore, paper_mm=paper_mm, printed=printed, scan=marks)
    except RubbingError as refused:
        why = str(refused).replace(f"{picture.name}: ", "")
        if scan is not None:
            return Review(why, *_made_small(picture.grey, _SCAN_PX), (), ())
        photo, size, markers = _photo(picture.grey, sheet, None)
        return Review(why, photo, size, markers, _missing(markers, sheet))
    photo, size, markers = _photo(picture.grey, sheet, reading)
    missing = _missing(markers, sheet)
    if scan is not None:
        (photo, size), markers, missing = _made_small(picture.grey, _SCAN_PX), (), ()
    rubbing = Rubbing(photograph.name, engine, reading, tuple(named(engine, reading.seen)))
    flat, box = _flat(reading)
    return Review(
        "", photo, size, markers, missing, flat, box, reading.residual_mm,
        tuple(shown(one) for one in rubbing.found), tuple(not_found(rubbing)), tuple(unlike_pairs(rubbing)),
    )  # fmt: skip


def _missing(markers: Iterable[MarkerShown], sheet: MarkerSheet) -> tuple[int, ...]:
    there = {one.number for one in markers if one.found}
    return tuple(one.number for one in sheet.markers if one.number not in there)


def _photo(
    grey: Grey, sheet: MarkerSheet, reading: Reading | None
) -> tuple[str, tuple[int, int], tuple[MarkerShown, ...]]:
    """The photograph made small, with its markers: those found, and where the paper is known, those that are not."""
    photo, size = _made_small(grey, _PHOTO_PX)
    share = min(1.0, _PHOTO_PX / max(grey.shape))
    wanted = {one.number for one in sheet.markers}
    numbers, corners = find_markers(grey)
    markers = [
        MarkerShown(number, _scaled(places, share), True)
        for number, places in zip(numbers, corners, strict=True)
        if number in wanted
    ]
    if reading is not None and reading.paper is not None:
        for number in sorted(wanted - set(numbers)):
            places = reading.paper.to_picture(corners_mm(number))
            markers.append(MarkerShown(number, _scaled(places, share), False))
    return photo, size, tuple(markers)


def _made_small(grey: Grey, most_px: int) -> tuple[str, tuple[int, int]]:
    """The picture as a data address, its longer side no longer than this, and its size."""
    rows, columns = grey.shape
    share = min(1.0, most_px / max(rows, columns))
    size = max(1, round(columns * share)), max(1, round(rows * share))
    return _jpeg(grey, size), size


def _scaled(places: Any, share: float) -> tuple[tuple[float, float], ...]:
    return tuple((round(float(x) * share, 1), round(float(y) * share, 1)) for x, y in places)


def _flat(reading: Reading) -> tuple[str, tuple[float, float, float, float]]:
    """The paper laid flat and its place in mm."""
    rows, columns = reading.flat.shape
    across, down = reading.stretch, reading.stretch_down
    left, top = reading.left_mm * across, reading.top_mm * down
    right, bottom = left + columns / reading.px_per_mm * across, top + rows / reading.px_per_mm * down
    share = min(1.0, _PICTURE_PX / max(rows, columns))
    return _jpeg(reading.flat, (round(columns * share), round(rows * share))), (left, top, right, bottom)


def _jpeg(grey: Grey, size: tuple[int, int]) -> str:
    """A grey picture of this size as a data address."""
    picture = Image.fromarray((np.clip(grey, 0.0, 1.0) * 255.0 + 0.5).astype(np.uint8))
    packed = BytesIO()
    picture.resize(size, Image.Resampling.BOX).save(packed, "JPEG", quality=82)
    return "data:image/jpeg;base64," + base64.b64encode(packed.getvalue()).decode("ascii")


# --- shapes -----------------------------------------------------------------------------------------------------------


def shown(one: Found) -> OpeningShown:
    """An opening as it was measured."""
    return OpeningShown(
        one.number, one.name or "", one.second, round(one.clock_deg, 2), shape_of(one.outline),
        one.seen.edge_plus_minus_mm, one.seen.radius_plus_minus_mm, one.bridge_mm, one.doubt,
    )  # fmt: skip


def shape_of(outline: Outline) -> Shape:
    """What can be corrected of an outline: six edges and radii, or a few points."""
    if outline.kind == "rounded rectangle":
        assert outline.roof_radius_mm is not None
        assert outline.floor_radius_mm is not None
        edges = (outline.left_mm, outline.right_mm, outline.roof_mm, outline.floor_mm, outline.roof_radius_mm,
                 outline.floor_radius_mm)  # fmt: skip
        return Shape("rounded rectangle", tuple(round(float(one), 3) for one in edges))
    return Shape("points", points=_few(outline.points_mm.tolist()))


def _few(points: Sequence[Sequence[float]]) -> tuple[tuple[float, float], ...]:
    """The same outline with as few points as can be moved one by one; it moves by as little as that allows."""
    ring = [*points, points[0]]
    allowed = 0.02
    thin = list(LineString(ring).simplify(allowed).coords)[:-1]
    while len(thin) > MOST_POINTS:
        allowed *= 1.3
        thin = list(LineString(ring).simplify(allowed).coords)[:-1]
    return tuple((round(float(x), 3), round(float(y), 3)) for x, y in thin)


def loosened(one: OpeningShown) -> OpeningShown:
    """The same outline as single points, for a port that is no rounded rectangle after all."""
    return replace(one, shape=Shape("points", points=_few(outline_of(one.shape).points_mm.tolist())), by_hand=True)


def outline_of(shape: Shape) -> Outline:
    """A shape as an outline. RubbingError where it turned itself inside out."""
    if shape.kind == "rounded rectangle":
        left, right, roof, floor, upper, lower = shape.edges
        if right - left < 1.0 or floor - roof < 1.0:
            raise RubbingError(
                f"an opening {right - left:.2f} mm wide and {floor - roof:.2f} mm high\n    accepted: 1 mm or more\n"
                "    what to do: take the last change back"
            )
        return rounded_rectangle(left, right, roof, floor, max(upper, 0.0), max(lower, 0.0))
    ring = Polygon(shape.points) if len(shape.points) >= 3 else None
    if ring is None or not ring.is_valid or ring.area < 1.0:
        raise RubbingError(
            "the outline crosses itself\n    accepted: points in their order round the opening\n"
            "    what to do: take the last change back"
        )
    left, roof, right, floor = ring.bounds
    points = np.array(shape.points, dtype=np.float64)
    return Outline("points", left, right, roof, floor, None, None, 0.0, 0.0, points, 0.0, 2 * len(points))


def area_mm2(shape: Shape) -> float:
    """Area of an outline along the wall.

    >>> round(area_mm2(Shape("rounded rectangle", (0.0, 10.0, 20.0, 30.0, 0.0, 0.0))), 6)
    100.0
    """
    return float(Polygon(outline_of(shape).points_mm).area)


def shape_from(kept: Mapping[str, Any]) -> Shape:
    """A shape out of what a document or a page says of it; RubbingError where it is none, or turned inside out.

    >>> shape_from({"kind": "rounded rectangle", "edges": [0, 10, 20, 30, 1, 1]}).edges
    (0.0, 10.0, 20.0, 30.0, 1.0, 1.0)
    """
    try:
        edges = tuple(float(one) for one in kept.get("edges") or ())
        points = tuple((float(x), float(y)) for x, y in kept.get("points") or ())
    except (TypeError, ValueError):
        edges, points = (), ()
    whole = all(map(isfinite, (*edges, *(one for point in points for one in point))))
    kind: Kind = "rounded rectangle" if kept.get("kind") == "rounded rectangle" else "points"
    if not whole or len(points) > 1000 or (len(edges) != 6 if kind == "rounded rectangle" else not points):
        raise RubbingError(
            "an outline that is none\n    accepted: six edges and radii, or the points round an opening\n"
            "    what to do: load the page again"
        )
    shape = Shape(kind, edges) if kind == "rounded rectangle" else Shape(kind, points=points)
    outline_of(shape)
    return shape


def corrected(one: OpeningShown, kept: Mapping[str, Any] | None) -> OpeningShown:
    """An opening with the shape that somebody gave it; `kept` as `kept_shape` wrote it, None for none."""
    if not kept:
        return one
    edge = max(one.edge_mm, BY_HAND_MM)
    radius = max(one.radius_mm, 2.0 * BY_HAND_MM)
    return replace(one, shape=shape_from(kept), edge_mm=edge, radius_mm=radius, by_hand=True)


def kept_shape(shape: Shape) -> dict[str, Any]:
    """A shape as it stands in the document.

    >>> kept_shape(Shape("points", points=((0.0, 1.0), (2.0, 1.0), (1.0, 3.0))))["points"][1]
    [2.0, 1.0]
    """
    if shape.kind == "points":
        return {"kind": shape.kind, "points": [[round(x, 3), round(y, 3)] for x, y in shape.points]}
    return {"kind": shape.kind, "edges": [round(one, 3) for one in shape.edges]}


def found_of(one: OpeningShown, engine: EngineRecord) -> Found:
    """The opening as the rubbing room has it, where the record takes it from."""
    outline = outline_of(one.shape)
    around = pi * engine.cylinder.bore_mm.value
    clock = 0.5 * (outline.left_mm + outline.right_mm) / around * 360.0 % 360.0
    seen = Seen(outline, Opening(outline.points_mm, 0.0, 0.0), one.edge_mm, one.radius_mm)
    return Found(one.number, seen, outline, clock, one.port or None, one.second, one.bridge_mm, one.doubt)
