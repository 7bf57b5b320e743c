"""The piston: a shorter skirt, a window or a cut-out in it. Every gram off it moves the balance."""

from math import pi

from scribeline.engine import EngineRecord, Measured, judged_again
from scribeline.engine.bottom_end import SkirtOpening
from scribeline.geometry import refit
from scribeline.geometry.windows import arc_from_chord_mm
from scribeline.plan.box import Box
from scribeline.plan.description import Amount, Instruction, Operation, Stage
from scribeline.plan.steps import Step

# Cast aluminium-silicon piston alloy, g/mm^3; handbook value from memory, alloys differ by some per cent.
ALLOY_G_MM3 = 2.7e-3
_WALL = Amount("wall_mm", "mm", 0.5, 10.0, "how thick the skirt is there", usual=2.0)  # judgement where left out
_SIDES = {"exhaust side": "exhaust", "intake side": "intake"}
_BALANCE = (
    "A lighter piston moves the crank's balance: weigh it before and after; more than a few grams is felt in the "
    "handlebars and in the bearings, and only a shop can balance the crank again."
)


def _skirts(record: EngineRecord, box: Box) -> tuple[str, ...]:
    piston = record.piston
    return tuple(side for side, key in _SIDES.items() if getattr(piston, f"skirt_{key}_side_mm") is not None)


def _lighter(record: EngineRecord, volume_mm3: float) -> EngineRecord:
    piston = record.piston
    mass = refit.moved(piston.mass_g, -ALLOY_G_MM3 * volume_mm3, piston.spec("mass_g"))
    return record.model_copy(update={"piston": piston.model_copy(update={"mass_g": mass})})


def trimmed_mm3(record: EngineRecord, step: Step) -> float:
    """Metal that a trimmed skirt loses: off times wall times the third of the way round that one side has."""
    share = step.detail("round_share")
    wall = step.detail("wall_mm")
    assert share is not None
    assert wall is not None
    return pi * record.cylinder.bore_mm.value * share * wall * (step.amount or 0.0)


def _trim(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    side = _SIDES[step.at]
    shorter = refit.shorten_skirt(record, step.amount or 0.0, "intake" if side == "intake" else "exhaust")
    return judged_again(_lighter(shorter, trimmed_mm3(record, step)))


def _window(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    assert step.amount is not None
    clock, top, bottom, wall = (
        step.detail(key) for key in ("clock_deg", "top_from_crown_mm", "bottom_from_crown_mm", "wall_mm")
    )
    assert clock is not None
    assert top is not None
    assert wall is not None
    names = {one.name for one in record.piston.openings}
    name = next(name for name in ("window", *(f"window {n}" for n in range(2, 100))) if name not in names)
    low = (
        bottom
        if bottom is not None
        else record.piston.skirt_intake_side_mm and record.piston.skirt_intake_side_mm.value
    )
    opening = SkirtOpening(
        name=name,
        clock_deg=Measured(value=clock),
        width_mm=Measured(value=step.amount),
        top_from_crown_mm=Measured(value=top),
        bottom_from_crown_mm=None if bottom is None else Measured(value=bottom),
    )
    across = float(arc_from_chord_mm(step.amount, record.cylinder.bore_mm.value))
    lighter = _lighter(record, across * wall * max(0.0, (low or top) - top))
    piston = lighter.piston.model_copy(update={"openings": (*record.piston.openings, opening)})
    return judged_again(lighter.model_copy(update={"piston": piston}))


OPERATIONS = (
    Operation(
        key="trim skirt",
        what="shorten the piston's skirt on one side: on the intake side the intake opens earlier and closes later",
        stage=Stage.PISTON,
        targets=_skirts,
        amount=Amount("off_mm", "mm", 0.0, 20.0, "how much comes off the skirt, in mm", metal=True),
        details=(
            _WALL,
            Amount("round_share", "ratio", 0.05, 0.5, "what share of the way round is cut", usual=1.0 / 3.0),
        ),
        change=_trim,
        tools=("hacksaw and file, or mill", "caliper", "kitchen scales", "degree wheel"),
        skill="careful beginner",
        undo="another piston",
        limits=("exhaust_open_under_skirt_mm",),
        instead="another piston with a longer skirt, or a thinner base gasket",
        backwards=("lengthen skirt",),
        caution=_BALANCE,
        instructions=(
            Instruction("Weigh the piston with pin, rings and clips.", "mass"),
            Instruction("Mark the line round the skirt, square to the axis; protect the rings.", "skirt length"),
            Instruction("Cut to the stop line, file to the target, break every edge.", "skirt length"),
            Instruction("Wash, fit, turn two full turns by hand.", "degrees where the skirt leaves the floor; mass"),
        ),
    ),
    Operation(
        key="cut piston window",
        what="cut a window in the skirt, or a cut-out open below, for a boost port or to cool the small end",
        stage=Stage.PISTON,
        targets=lambda record, box: ("",),
        amount=Amount("wide_mm", "mm", 3.0, 60.0, "how wide it gets, straight across"),
        details=(
            Amount("clock_deg", "deg", 0.0, 360.0, "where its middle lies, exhaust side = 0"),
            Amount("top_from_crown_mm", "mm", 5.0, 200.0, "crown's edge down to its top"),
            Amount(
                "bottom_from_crown_mm",
                "mm",
                6.0,
                200.0,
                "crown's edge down to its bottom; none for a cut-out",
                needed=False,
            ),
            _WALL,
        ),
        change=_window,
        tools=("drill and file, or mill", "caliper", "kitchen scales"),
        skill="experienced hand",
        undo="another piston",
        limits=("window_clear_of_exhaust_mm", "exhaust_open_under_skirt_mm"),
        instead="another piston",
        backwards=("close piston window",),
        caution="Keep off the pin's bosses and the rings, leave round corners: cracks begin there. " + _BALANCE,
        instructions=(
            Instruction(
                "Weigh the piston. Mark the window; see at top and bottom dead centre which ports it meets.", "mass"
            ),
            Instruction("Drill the corners round, 5 mm or more, then cut between them.", "width, top and bottom"),
            Instruction("Polish every edge, wash, fit, turn two full turns by hand.", "mass"),
        ),
    ),
)
