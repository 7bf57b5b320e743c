"""Engine parts in section as closed outlines: barrel, piston, rod. Coordinates in paper millimetres."""

import math
from collections.abc import Sequence

from scribeline.marking.shapes import Circle, Group, Hatch, Point, Polyline, bulge, group, polygon, rectangle

WALL_SHARE = 0.14
"""Wall thickness drawn for a barrel, as a share of its bore: for orientation, nobody measures it."""


def barrel(
    axis: float,
    deck: float,
    bore: float,
    tall: float,
    left: Sequence[tuple[float, float]] = (),
    right: Sequence[tuple[float, float]] = (),
) -> list[Group]:
    """Both walls of a barrel in section; `left` and `right` are ports as (roof, floor) depths below the deck."""
    blocks = []
    half, rim = 0.5 * bore, (0.5 + WALL_SHARE) * bore
    for inner, outer, cuts in ((-rim, -half, sorted(left)), (half, rim, sorted(right))):
        tops, bottoms = [0.0, *(floor for _, floor in cuts)], [*(roof for roof, _ in cuts), tall]
        blocks += [
            rectangle(axis + inner, deck - bottom, axis + outer, deck - top)
            for top, bottom in zip(tops, bottoms, strict=True)
            if bottom > top
        ]
    return [
        group("hatch", *(Hatch((block,), angle_deg=135.0) for block in blocks)),
        group("outline", *blocks, about="cylinder wall in section"),
    ]


def piston(
    axis: float, crown: float, bore: float, left_skirt: float, right_skirt: float, dome: float = 0.0
) -> list[Group]:
    """A piston in section, its crown's edge at a height; the skirts are measured down from there."""
    half, inner = 0.5 * bore, 0.45 * bore
    left, right, under = crown - left_skirt, crown - right_skirt, crown - 0.09 * bore
    corners = ((half, crown), (-half, crown), (-half, left), (-inner, left), (-inner, under), (inner, under),
               (inner, right), (half, right))  # fmt: skip
    over = bulge(4 * math.degrees(math.atan2(dome, half)))
    body = Polyline(tuple((axis + x, y) for x, y in corners), (over, *(7 * [0.0])), closed=True)
    return [
        group("outline", body, fill="paper", about="piston"),
        group("hatch", Hatch((body,), spacing_mm=1.0)),
    ]


def rod(big: Point, little: Point, big_radius: float, little_radius: float) -> list[Group]:
    """A connecting rod from the crank pin to the gudgeon pin, with both eyes open."""
    (px, py), (gx, gy) = big, little
    across = math.atan2(gy - py, gx - px) + 0.5 * math.pi
    beam = polygon(
        *(
            (x + wide * math.cos(across), y + wide * math.sin(across))
            for x, y, wide in (
                (px, py, 0.7 * big_radius),
                (gx, gy, 0.7 * little_radius),
                (gx, gy, -0.7 * little_radius),
                (px, py, -0.7 * big_radius),
            )
        )
    )
    eyes = (big, big_radius), (little, little_radius)
    return [
        group("outline", beam, fill="paper", about="connecting rod"),
        group("outline", *(Circle(middle, radius) for middle, radius in eyes), fill="paper"),
        group("outline", *(Circle(middle, 0.6 * radius) for middle, radius in eyes), fill="wash"),
    ]
