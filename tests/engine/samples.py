"""Records for the tests of this folder: one sound text to spoil, and hypothesis strategies that build others."""

import types
import typing
from typing import Any, Literal, get_args, get_origin

from hypothesis import strategies as st

from scribeline.engine import INSTRUMENTS, EngineRecord, Measured, Part, Spec

SOUND = """\
scribeline_record = 1
name = "Bench sample"
speed_rpm = 9000

[crank]
stroke_mm = 50.0
rod_length_mm = 100.0
pin_offset_mm = 0.5

[cylinder]
bore_mm = 50.0
deck_clearance_at_tdc_mm = 0.6
count = 1
ring_pegs_deg = [160, 200]

[gaskets]
base = [{ nominal_mm = 0.5, compressed_mm = 0.46 }]

[piston]
crown = "dome"
dome_height_mm = 2.5
skirt_intake_side_mm = 52.0

[[piston.openings]]
name = "boost window"
clock_deg = 180
width_mm = 20.0
top_from_crown_mm = 30.0
bottom_from_crown_mm = 40.0

[head]
squish_outer_mm = 50.0
squish_inner_mm = 34.0

[head.shape]
kind = "bathtub"
depth_mm = 8.0
length_mm = 30.0
width_mm = 24.0
corner_radius_mm = 6.0

[squish]
head_gasket_fitted = true
solder_diameter_mm = 2.0
solder_folds = 1
readings = [
    { clock_deg = 0, gap_mm = 1.4 },
    { clock_deg = 180, gap_mm = 1.5 },
]

[degree_wheel]
readings = "raw"
stop_turning_forwards_deg = 318.0
stop_turning_back_deg = 46.0

[[ports]]
name = "exhaust"
role = "exhaust"
clock_deg = 0
roof_from_deck_mm = 29.0
floor_from_deck_mm = 50.6
roof_opens_deg_atdc = 95.0
floor_opens_deg_atdc = 172.0
width_chord_mm = 32.0
bridge_mm = 2.0
roof_corner_radius_mm = 6.0
floor_corner_radius_mm = 5.0

[[ports]]
name = "transfer"
role = "transfer"
clock_deg = 80
mirrored = true
roof_from_crown_tdc_mm = 37.0
floor_from_crown_bdc_mm = 0.0
width_arc_mm = 18.0

[[ports]]
name = "boost"
role = "boost"
clock_deg = 180
outline_mm = [
    [-6, 38.0],
    [6, 38.0],
    [5, 50.6],
    [-5, 50.6],
]
outline_plus_minus_mm = 0.3

[[ports]]
name = "intake"
role = "intake"
clock_deg = 180
roof_from_deck_mm = 55.0
floor_from_deck_mm = 72.0
width_chord_mm = 30.0

[intake]
control = "piston port"

[[intake.tract]]
name = "manifold"
length_mm = 60
start_mm = 28
end_mm = 25

[[exhaust.sections]]
name = "header"
length_mm = 240
start_mm = 34
end_mm = 38

[[exhaust.sections]]
name = "diffuser"
length_mm = 255
start_mm = 38
end_mm = 82

[ignition]
table = [
    { rpm = 3000, advance_deg = 22 },
    { rpm = 9000, advance_deg = 16 },
]

[drivetrain]
gears = [2.5, 1.8]
"""
"""An invented piston-port engine with every part that a cross-check looks at."""


def spoiled(*edits: tuple[str, str]) -> str:
    """SOUND with each `old` text, which stands there exactly once, replaced by `new`."""
    text = SOUND
    for old, new in edits:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the sample"
        text = text.replace(old, new)
    return text


def line_with(text: str, words: str) -> int:
    """Number of the one line of `text` that holds `words`."""
    lines = [number for number, line in enumerate(text.split("\n"), start=1) if words in line]
    assert len(lines) == 1, f"{words!r} is on lines {lines}"
    return lines[0]


words = st.text(st.characters(codec="utf-8"), min_size=1, max_size=12)
floats = st.floats(allow_nan=False, allow_infinity=False)


def measured(spec: Spec) -> st.SearchStrategy[Measured]:
    """Any measured number a field takes."""
    return st.builds(
        lambda value, plus_minus, instrument, typed: Measured(
            value=value, plus_minus=plus_minus, instrument=instrument, typed=typed
        ),
        st.floats(spec.low, spec.high),
        st.none() | st.floats(0, 1e6),
        st.none() | st.sampled_from(sorted(INSTRUMENTS)),
        st.none() | words,
    )


def parts(model: type[Part]) -> st.SearchStrategy[Any]:
    """Any part whose fields are acceptable one by one; it need not be of a possible engine."""
    fields: dict[str, st.SearchStrategy[Any]] = {}
    for name, field in model.model_fields.items():
        strategy = _of(field.annotation, model.spec(name))
        fields[name] = strategy if field.is_required() else st.just(field.default) | strategy
    if model is EngineRecord:
        fields["speed_rpm"] = st.floats(100, 30000)
    return st.builds(lambda **values: model(**values), **fields)


def _of(annotation: Any, spec: Spec | None) -> st.SearchStrategy[Any]:
    if annotation is Measured:
        assert spec is not None
        return measured(spec)
    plain = {float: floats, int: st.integers(-(10**9), 10**9), bool: st.booleans(), str: words}
    if annotation in plain:
        return plain[annotation]
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return parts(annotation)
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin is Literal:
        return st.sampled_from(inner)
    if origin is tuple and inner[1:] == (...,):
        return st.lists(_of(inner[0], spec), max_size=3).map(tuple)
    if origin is tuple:
        return st.tuples(*(_of(one, spec) for one in inner))
    assert origin in (types.UnionType, typing.Union), f"no strategy for {annotation}"
    return st.one_of(*(st.none() if one is types.NoneType else _of(one, spec) for one in inner))
