"""What is set rather than cut: the spark, the mixture, the fuel, the gearing."""

from scribeline.engine import EngineRecord, Measured, judged_again
from scribeline.geometry.refit import moved
from scribeline.plan.box import Box
from scribeline.plan.description import Amount, Instruction, Operation, Stage
from scribeline.plan.steps import Step

_PLUG = Instruction("One full-throttle pull, clutch in, engine off at once, read the plug.", "plug colour")


def _ignites(record: EngineRecord, box: Box) -> tuple[str, ...]:
    return ("",) if record.ignition.advance_deg is not None or record.ignition.table else ()


def _spark(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    by, ignition = step.amount or 0.0, record.ignition
    changed: dict[str, object] = {
        "advance_deg": moved(ignition.advance_deg, by, ignition.spec("advance_deg")),
        "table": tuple(point.model_copy(update={"advance_deg": point.advance_deg + by}) for point in ignition.table),
    }
    return judged_again(record.model_copy(update={"ignition": ignition.model_copy(update=changed)}))


def _fuel(record: EngineRecord, **changed: object) -> EngineRecord:
    return judged_again(record.model_copy(update={"fuel": record.fuel.model_copy(update=changed)}))


def _mixture(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    assert step.amount is not None
    return _fuel(record, air_per_fuel=Measured(value=step.amount))


def _octane(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    assert step.amount is not None
    return _fuel(record, octane_ron=Measured(value=step.amount))


def _oil(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    assert step.amount is not None
    return _fuel(record, petrol_per_oil=Measured(value=step.amount))


def _gearing(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    assert step.amount is not None
    drive = record.drivetrain.model_copy(update={"final_drive_ratio": Measured(value=step.amount)})
    return judged_again(record.model_copy(update={"drivetrain": drive}))


OPERATIONS = (
    Operation(
        key="change ignition advance",
        what="the spark earlier (plus) or later (minus), at every speed alike",
        stage=Stage.RUNNING,
        targets=_ignites,
        amount=Amount("earlier_deg", "deg", -30.0, 30.0, "how much earlier the spark comes; minus is later"),
        change=_spark,
        tools=("timing light", "degree wheel"),
        skill="careful beginner",
        undo="set it back",
        reversible=True,
        limits=("knock_margin_octane",),
        caution="An earlier spark is a hotter piston: one degree at a time, and back at the first sign of knock.",
        instructions=(Instruction("Turn the plate, tighten, check with the light.", "advance at full speed"), _PLUG),
    ),
    Operation(
        key="change mixture",
        what="richer or leaner, as mass of air for one mass of fuel",
        stage=Stage.RUNNING,
        targets=lambda record, box: ("",),
        amount=Amount("air_per_fuel", "ratio", 9.2, 29.0, "mass of air for one mass of fuel at full throttle"),
        change=_mixture,
        tools=("jets", "lambda probe or plug reading"),
        skill="careful beginner",
        undo="fit the old jet",
        reversible=True,
        limits=("knock_margin_octane",),
        caution="Too lean overheats and seizes: come from the rich side.",
        instructions=(Instruction("One jet size at a time.", "plug colour or lambda"), _PLUG),
    ),
    Operation(
        key="change fuel",
        what="fuel of another octane number",
        stage=Stage.RUNNING,
        targets=lambda record, box: ("",),
        amount=Amount("octane_ron", "ratio", 60.0, 130.0, "research octane number on the pump"),
        change=_octane,
        tools=("approved can",),
        skill="careful beginner",
        undo="drain and fill the old one",
        reversible=True,
        limits=("knock_margin_octane",),
        instructions=(Instruction("Drain the float bowl too: what is in it runs first."), _PLUG),
    ),
    Operation(
        key="change oil in petrol",
        what="more or less oil in the petrol; no figure of the simulation rests on it",
        stage=Stage.RUNNING,
        targets=lambda record, box: ("",),
        amount=Amount("petrol_per_oil", "ratio", 8.0, 200.0, "parts of petrol to one part of oil"),
        change=_oil,
        tools=("measuring jug",),
        skill="careful beginner",
        undo="mix as before",
        reversible=True,
        caution="Never less oil than the maker of engine or oil asks for.",
        instructions=(Instruction("Measure both; shake before every filling."),),
    ),
    Operation(
        key="change gearing",
        what="another final drive: higher numbers pull harder and run out of speed earlier",
        stage=Stage.RUNNING,
        targets=lambda record, box: ("",) if record.drivetrain.final_drive_ratio is not None else (),
        amount=Amount("final_drive_ratio", "ratio", 0.2, 30.0, "teeth on the rear over teeth on the front sprocket"),
        change=_gearing,
        tools=("sprockets", "chain tool"),
        skill="careful beginner",
        undo="fit the old sprocket",
        reversible=True,
        limits=(
            "speed_over_clutch_rpm",
            "speed_under_redline_rpm",
            "mean_piston_speed_m_s",
            "piston_acceleration_max_m_s2",
        ),
        instructions=(Instruction("Line the sprockets up, set the chain's slack.", "slack at its tightest place"),),
    ),
)
