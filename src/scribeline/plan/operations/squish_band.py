"""Re-cutting the head inside: the squish band's angle, depth and width, and the bowl. Metal only comes off."""

from math import pi

from scribeline.engine import EngineRecord, Measured, judged_again
from scribeline.errors import GeometryError
from scribeline.geometry import head_shape
from scribeline.geometry.refit import moved
from scribeline.plan.box import Box
from scribeline.plan.description import Amount, Instruction, Operation, Stage
from scribeline.plan.steps import Step

# A lathe in a small workshop holds an angle to about this; judgement, no source.
ANGLE_PLUS_MINUS_DEG = 0.5
_LIMITS = ("squish_gap_min_mm", "squish_gap_mm", "squish_velocity_max_m_s", "compression_ratio_trapped")


def _band(record: EngineRecord, box: Box) -> tuple[str, ...]:
    return ("",) if record.head.squish_inner_mm is not None else ()


def _bowl(record: EngineRecord, box: Box) -> tuple[str, ...]:
    head = record.head
    return ("",) if head.chamber_on_bench_cc is not None or head.clearance_on_engine_cc is not None else ()


def _outer(record: EngineRecord) -> float:
    """The band reaches as far as the piston does."""
    outer = record.head.squish_outer_mm
    bore = record.cylinder.bore_mm.value
    return bore if outer is None else min(outer.value, bore)


def _inner(record: EngineRecord) -> float:
    inner = record.head.squish_inner_mm
    assert inner is not None
    return inner.value


def _angle(record: EngineRecord) -> float:
    return record.head.band_angle_deg.value if record.head.band_angle_deg else 0.0


def _taken_out(record: EngineRecord, volume_cc: float, deeper_mm: float = 0.0, **head: object) -> EngineRecord:
    """The head with a volume more in it, the band's outer edge `deeper_mm` further from the piston."""
    old = record.head
    if old.shape is not None and volume_cc > 0.0:
        if old.chamber_on_bench_cc is None and old.clearance_on_engine_cc is None:
            raise GeometryError(
                "the chamber is known by its shape only, and this shape is left by the cut; fill the head from a "
                "burette and write chamber_on_bench_cc, then plan the cut"
            )
        head["shape"] = None
    for key in ("chamber_on_bench_cc", "clearance_on_engine_cc"):
        head[key] = moved(getattr(old, key), volume_cc, old.spec(key))
    head["band_recess_mm"] = moved(old.band_recess_mm, deeper_mm, old.spec("band_recess_mm"))
    squish = record.squish
    if squish is not None and deeper_mm:
        readings = tuple(
            one.model_copy(update={"gap_mm": moved(one.gap_mm, deeper_mm, one.spec("gap_mm"))})
            for one in squish.readings
        )
        widest = max(one.gap_mm.value for one in readings if one.gap_mm)
        solder = squish.solder_diameter_mm
        if widest >= solder.value * squish.solder_folds:
            solder = solder.model_copy(update={"value": 1.5 * widest / squish.solder_folds, "typed": None})
        squish = squish.model_copy(update={"readings": readings, "solder_diameter_mm": solder})
    return judged_again(record.model_copy(update={"head": old.model_copy(update=head), "squish": squish}))


def _recut(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    """A steeper band is cut about its outer edge, a flatter one about its inner edge: so metal only comes off."""
    assert step.amount is not None
    outer, inner, old, new = _outer(record), _inner(record), _angle(record), step.amount
    change = float(head_shape.band_rise_mm(outer, inner, new) - head_shape.band_rise_mm(outer, inner, old))
    deeper = max(0.0, -change)
    volume = float(
        head_shape.band_volume_cc(outer, inner, deeper, new) - head_shape.band_volume_cc(outer, inner, 0.0, old)
    )
    return _taken_out(record, volume, deeper, band_angle_deg=Measured(value=new, plus_minus=ANGLE_PLUS_MINUS_DEG))


def _sink(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    assert step.amount is not None
    volume = float(head_shape.band_volume_cc(_outer(record), _inner(record), step.amount, 0.0))
    return _taken_out(record, volume, step.amount)


def _narrow(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    """A ring with straight walls is cut inside the band, from its surface up."""
    assert step.amount is not None
    depth, inner = step.detail("depth_mm"), _inner(record)
    assert depth is not None
    wider = inner + step.amount
    volume = pi / 4.0 * (wider**2 - inner**2) * depth / 1000.0
    old = record.head
    return _taken_out(
        record, volume, squish_inner_mm=moved(old.squish_inner_mm, step.amount, old.spec("squish_inner_mm"))
    )


def _open(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    return _taken_out(record, step.amount or 0.0)


_BLUE = Instruction("Colour band and bowl with a felt pen, so that you see where the tool has been.")
_CHECK = Instruction(
    "Clean, fit, tighten with the gaskets that will stay.", "squish by solder; head volume from a burette"
)
OPERATIONS = (
    Operation(
        key="recut squish band angle",
        what="cut the squish band to another angle; a flatter one sinks its outer edge, so that metal only comes off",
        stage=Stage.DECK,
        targets=_band,
        amount=Amount("to_deg", "deg", -5.0, 30.0, "the band's new angle, rising towards the middle"),
        change=_recut,
        tools=("lathe", "protractor", "burette", "solder"),
        skill="machine shop",
        undo="not: another head, or the head faced and the band cut again",
        limits=_LIMITS,
        instead="another head",
        instructions=(
            Instruction("Clamp the head true: less than 0.03 mm at the gasket face.", "run-out of face and band"),
            _BLUE,
            Instruction("Cut until the tool has just touched the whole band; stop.", "band angle and inner diameter"),
            _CHECK,
        ),
    ),
    Operation(
        key="sink squish band",
        what="cut the whole band deeper at the angle it has: the squish gap grows all round",
        stage=Stage.DECK,
        targets=_band,
        amount=Amount("off_mm", "mm", 0.0, 3.0, "how much comes off, in mm", metal=True),
        change=_sink,
        tools=("lathe", "depth gauge", "solder"),
        skill="machine shop",
        undo="face the head, or a thinner gasket: the band comes down again",
        limits=_LIMITS,
        instead="face the head or a thinner gasket",
        backwards=("raise squish band", "build up squish band"),
        instructions=(
            Instruction("Clamp the head true: less than 0.03 mm at the gasket face.", "run-out of face and band"),
            _BLUE,
            Instruction("Cut to the stop line, 0.1 mm short.", "band recess from the face"),
            _CHECK,
        ),
    ),
    Operation(
        key="narrow squish band",
        what="open the bowl's mouth: the band gets narrower, the chamber bigger",
        stage=Stage.DECK,
        targets=_band,
        amount=Amount("wider_mm", "mm", 0.0, 40.0, "how much wider the mouth gets, across", metal=True),
        within=lambda record, target: (0.0, _outer(record) - _inner(record) - 1.0),
        details=(Amount("depth_mm", "mm", 0.2, 30.0, "how deep the new ring is, up from the band's surface"),),
        change=_narrow,
        tools=("lathe", "caliper", "burette"),
        skill="machine shop",
        undo="not: another head",
        limits=_LIMITS,
        instead="another head, or sink and face this one",
        backwards=("widen squish band",),
        instructions=(
            Instruction("Clamp the head true: less than 0.03 mm at the gasket face.", "run-out of face and band"),
            _BLUE,
            Instruction("Open the mouth to the stop line, break the edge.", "inner diameter of the band"),
            _CHECK,
        ),
    ),
    Operation(
        key="open bowl",
        what="take metal out of the bowl: a bigger chamber, lower compression, the same squish",
        stage=Stage.DECK,
        targets=_bowl,
        amount=Amount("out_cc", "cc", 0.0, 20.0, "how much more the chamber is to hold, in cc", metal=True),
        change=_open,
        tools=("die grinder or lathe", "burette and clear plate"),
        skill="patient beginner",
        undo="face the head or a thinner gasket: the chamber gets smaller, and so does the squish",
        limits=("compression_ratio_trapped", "squish_velocity_max_m_s"),
        instead="face the head, or a thinner head gasket",
        backwards=("close bowl", "fill bowl"),
        instructions=(
            Instruction("Fit an old plug, so that its thread is not touched."),
            _BLUE,
            Instruction(
                "Take it evenly out of the bowl, keep off the band.", "head volume from a burette, every 0.3 cc"
            ),
            Instruction("Stop 0.3 cc short, smooth, wash, fill again.", "head volume from a burette"),
        ),
    ),
)
