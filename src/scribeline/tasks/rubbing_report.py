"""How a measured rubbing is told: as text, as JSON, and as a picture with the outlines laid over it for approval."""

import base64
import json
from collections.abc import Sequence
from io import BytesIO
from typing import Any

import numpy as np
from PIL import Image

from scribeline import __version__
from scribeline.data.cautions import cautions_for
from scribeline.engine import Measured
from scribeline.marking.png import write_png
from scribeline.marking.shapes import Drawing, Text, group, line, polygon, rectangle
from scribeline.marking.svg import write_svg
from scribeline.tasks.rubbing import Found, Kept, Rubbing
from scribeline.units import show

_EDGES = (("left", "left_mm"), ("right", "right_mm"), ("roof", "roof_mm"), ("floor", "floor_mm"))
_SAID = (
    "Look at the overlay before you take these numbers: each line must run along the edge of the metal.",
    "Check one width and one height with a caliper.",
)
CHECK = " ".join(_SAID)


def rubbing_text(rubbing: Rubbing) -> str:
    """Everything that was found, edge by edge with its +/-, and what it rests on."""
    reading = rubbing.reading
    if reading.markers_found:
        seen = f"{reading.markers_found} of {reading.markers_wanted} markers, {reading.residual_mm:.3f} mm left over"
    else:
        seen = "a flat scan, by the points that were given"
    lines = [f"{rubbing.photograph}: {seen}; {reading.px_per_mm:g} pixels per mm", ""]
    for one in rubbing.found:
        lines += [_heading(one)]
        outline = one.outline
        lines.append(
            f"    roof {_mm(outline.roof_mm, one.height_plus_minus_mm)}, "
            f"floor {_mm(outline.floor_mm, one.height_plus_minus_mm)} below the deck; "
            f"width along the bore {_mm(outline.width_mm, one.width_plus_minus_mm)}"
        )
        lines.append(
            f"    {_shape(one)}; middle at {one.clock_deg:.1f}°; from the photograph alone an edge is "
            f"± {one.seen.edge_plus_minus_mm:.2f} mm"
        )
        lines += [f"    {words}" for words in _beside(rubbing, one)]
        if one.doubt:
            lines.append(
                f"    ! IN DOUBT: {one.doubt}. Rub it again. It is not written into the record, unless the overlay"
            )
            lines.append(f"      shows that the metal is so and you say --accept {one.number}")
    lines += [f"! {words}" for words in unlike_pairs(rubbing)]
    lines += [f"not found: {words}" for words in not_found(rubbing)]
    lines += ["", CHECK]
    lines += [f"! {caution.text}" for caution in cautions_for("template")]
    return "\n".join(lines)


def unlike_pairs(rubbing: Rubbing) -> list[str]:
    """Mirror images that differ by more than the photograph's own +/-: how they were laid is the same for both."""
    told = []
    for one in rubbing.found:
        other = next((two for two in rubbing.found if two.name == one.name and two.second and not one.second), None)
        if one.name is None or other is None:
            continue
        allowed = np.hypot(one.seen.edge_plus_minus_mm, other.seen.edge_plus_minus_mm)
        for what, field in (("roof", "roof_mm"), ("floor", "floor_mm"), ("width", "width_mm")):
            apart = getattr(one.outline, field) - getattr(other.outline, field)
            if abs(apart) > allowed:
                lies = "wider" if what == "width" else "lower"
                told.append(f"{one.name}: the {what} of opening {one.number} is {abs(apart):.2f} mm "
                            f"{lies if apart > 0 else 'narrower' if what == 'width' else 'higher'} than that of "
                            f"{other.number}; they should be alike")  # fmt: skip
    return told


def not_found(rubbing: Rubbing) -> list[str]:
    """Ports of the record, and mirror images, that no opening was taken for."""
    there = {(one.name, one.second) for one in rubbing.found}
    remedy = "rub on all four sides of it, right to the paper's ends, and look whether the light patch is whole"
    lacking = []
    for port in rubbing.record.ports:
        for i in range(port.openings):
            if (port.name, i == 1) not in there:
                lacking.append(f"{port.name}{', its mirror image' if i else ''}; what to do: {remedy}")
    return lacking


def _heading(one: Found) -> str:
    if one.name is None:
        return f"{one.number}  no port of the record (name it with --port {one.number}=NAME:ROLE)"
    return f"{one.number}  {one.name}" + (", its mirror image" if one.second else "")


def _shape(one: Found) -> str:
    outline = one.outline
    if outline.kind == "rounded rectangle" and outline.roof_radius_mm is not None:
        assert outline.floor_radius_mm is not None
        width = one.seen.radius_plus_minus_mm
        words = f"corner radii {_mm(outline.roof_radius_mm, width)} above, {_mm(outline.floor_radius_mm, width)} below"
    elif outline.kind == "rounded polygon" and outline.roof_radius_mm is not None:
        corners = (outline.numbers - 1) // 2
        words = f"{corners} corners, rounded with {_mm(outline.roof_radius_mm, one.seen.radius_plus_minus_mm)}"
    else:
        words = f"a free outline of {len(outline.points_mm)} points"
    return words + (f", bridge {one.bridge_mm:.2f} mm" if one.bridge_mm is not None else "")


def _beside(rubbing: Rubbing, one: Found) -> list[str]:
    """What the record has for the same edges, where it has something."""
    port = next((port for port in rubbing.record.ports if port.name == one.name), None)
    if port is None:
        return []
    told = []
    for what, field, value in (
        ("roof", "roof_from_deck_mm", one.outline.roof_mm),
        ("floor", "floor_from_deck_mm", one.outline.floor_mm),
        ("width along the bore", "width_arc_mm", one.outline.width_mm),
    ):
        recorded: Measured | None = getattr(port, field)
        spec = port.spec(field)
        if recorded is not None and spec is not None:
            plus_minus = recorded.resolved_plus_minus(spec)
            apart = value - recorded.value
            within = np.hypot(plus_minus, one.height_plus_minus_mm if what != "width along the bore"
                              else one.width_plus_minus_mm)  # fmt: skip
            verdict = "" if abs(apart) <= within else "  THEY DO NOT AGREE"
            told.append(f"the record has {what} {_mm(recorded.value, plus_minus)}: {apart:+.2f} mm{verdict}")
    return told


def _mm(value: float, plus_minus: float) -> str:
    return show(value, "mm", plus_minus)


def kept_text(kept: Sequence[Kept]) -> str:
    """Values that were left as they are."""
    if not kept:
        return ""
    lines = ["Left as another instrument gave it (--replace writes over):"]
    lines += [
        f"    {one.place} = {one.recorded.value:g}; the rubbing has {one.rubbed.value:g} ± {one.rubbed.plus_minus:g}"
        for one in kept
    ]
    return "\n".join(lines)


def rubbing_json(rubbing: Rubbing) -> str:
    """The same as one JSON document; lengths in mm on the bore's wall, +/- for about 95 %."""
    reading = rubbing.reading
    document: dict[str, Any] = {
        "scribeline": __version__,
        "photograph": rubbing.photograph,
        "engine": {"name": rubbing.record.name, "invented": rubbing.record.invented},
        "markers": {"found": reading.markers_found, "wanted": reading.markers_wanted},
        "residual_mm": round(reading.residual_mm, 4),
        "not_found": not_found(rubbing),
        "openings": [_opening_json(one) for one in rubbing.found],
        "cautions": [caution.text for caution in cautions_for("template")],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)


def _opening_json(one: Found) -> dict[str, Any]:
    outline = one.outline
    edges: dict[str, Any] = {
        what: {"value": round(getattr(outline, field), 3), "plus_minus": round(one.seen.edge_plus_minus_mm, 3)}
        for what, field in _EDGES
    }
    return {
        "number": one.number,
        "port": one.name,
        "mirror_image": one.second,
        "clock_deg": round(one.clock_deg, 2),
        "kind": outline.kind,
        "in_doubt": one.doubt,
        "edges_mm": edges,
        "height_plus_minus_mm": round(one.height_plus_minus_mm, 3),
        "width_mm": {"value": round(outline.width_mm, 3), "plus_minus": round(one.width_plus_minus_mm, 3)},
        "radii_mm": {
            "roof": None if outline.roof_radius_mm is None else round(outline.roof_radius_mm, 2),
            "floor": None if outline.floor_radius_mm is None else round(outline.floor_radius_mm, 2),
            "plus_minus": round(one.seen.radius_plus_minus_mm, 2),
        },
        "bridge_mm": None if one.bridge_mm is None else round(one.bridge_mm, 2),
        "blur_mm": round(one.seen.opening.blur_mm, 3),
        "outline_mm": [[round(float(x), 3), round(float(y), 3)] for x, y in outline.points_mm],
    }


def overlay_svg(rubbing: Rubbing) -> str:
    """The rubbing laid flat and at full size, each outline and its number over it."""
    reading = rubbing.reading
    across, down = reading.stretch, reading.stretch_down
    rows, columns = reading.flat.shape
    left, top = reading.left_mm * across, reading.top_mm * down
    right, bottom = left + columns / reading.px_per_mm * across, top + rows / reading.px_per_mm * down
    words, plates = [], []
    for one in rubbing.found:
        x = 0.5 * (one.outline.left_mm + one.outline.right_mm)
        y = -0.5 * (one.outline.roof_mm + one.outline.floor_mm)
        plates.append(rectangle(x - 3.0, y - 1.6, x + 3.0, y + 4.2))
        words.append(Text((x, y), str(one.number), 2.5, "middle"))
    outlines = [polygon(*((float(x), -float(y)) for x, y in one.outline.points_mm)) for one in rubbing.found]
    drawing = Drawing(
        "rubbing",
        f"Rubbing of {rubbing.record.name}",
        f"{len(rubbing.found)} openings outlined over the photograph {rubbing.photograph}, laid flat.",
        (
            group("edge", polygon((left, -top), (right, -top), (right, -bottom), (left, -bottom))),
            group("centre", line((0.0, -top), (0.0, -bottom)), about="middle of the exhaust"),
            group("measured", *outlines, about="what was measured"),
            group("note", *plates, fill="paper"),
            group("note", *words),
            group("note", *(Text((left, -bottom - 4.0 - 3.2 * i), said, 1.6) for i, said in enumerate(_SAID))),
        ),
    )
    svg = write_svg(drawing)
    picture = (
        f'<image x="{left:.3f}" y="{top:.3f}" width="{right - left:.3f}" height="{bottom - top:.3f}" '
        f'preserveAspectRatio="none" href="data:image/jpeg;base64,{_jpeg(rubbing)}"/>'
    )
    head, mark, tail = svg.partition('<g class="edge">')
    assert mark
    return head + picture + mark + tail


def _jpeg(rubbing: Rubbing) -> str:
    grey = Image.fromarray((rubbing.reading.flat * 255.0 + 0.5).astype(np.uint8))
    packed = BytesIO()
    grey.save(packed, "JPEG", quality=88)
    return base64.b64encode(packed.getvalue()).decode("ascii")


def overlay_png(rubbing: Rubbing, width_px: int = 2400) -> bytes:
    """The overlay as a picture."""
    return write_png(overlay_svg(rubbing), width_px=width_px)
