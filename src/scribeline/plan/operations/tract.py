"""What the charge comes through: a reed in place of the piston's edge, petals, carburettor, length of the tract."""

from math import inf

from scribeline.engine import EngineRecord, judged_again
from scribeline.engine.breathing import Intake, Reed, Section
from scribeline.errors import GeometryError
from scribeline.geometry.refit import moved
from scribeline.plan.box import Box, ReedBlock
from scribeline.plan.description import Amount, Instruction, Operation, Stage
from scribeline.plan.steps import Step


def _names(parts: tuple[object, ...]) -> tuple[str, ...]:
    return tuple(str(getattr(part, "name", "")) for part in parts)


def _reed(block: ReedBlock) -> Reed:
    return Reed.model_validate({key: getattr(block, key) for key in Reed.model_fields})


def _with_intake(record: EngineRecord, intake: Intake, **changed: object) -> EngineRecord:
    return judged_again(record.model_copy(update={"intake": intake.model_copy(update=changed)}))


def _intake(record: EngineRecord) -> Intake:
    assert record.intake is not None
    return record.intake


def _to_reed(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    block = next(one for one in box.reeds if one.name == step.choice)
    return _with_intake(record, _intake(record), control="reed", reed=_reed(block), disc=None)


def _petals(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    petals = next(one for one in box.petals if one.name == step.choice)
    intake = _intake(record)
    assert intake.reed is not None
    new = {"petal_thickness_mm": petals.petal_thickness_mm, "material": petals.material}
    return _with_intake(record, intake, reed=intake.reed.model_copy(update=new))


def _carburettor(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    """The tract's last section is the carburettor, unless one is called so."""
    new = next(one for one in box.carburettors if one.name == step.choice)
    intake = _intake(record)
    section = Section(name="carburettor", length_mm=new.length_mm, start_mm=new.bore_mm, end_mm=new.mouth_mm)
    names = [one.name for one in intake.tract]
    tract = intake.tract
    if "carburettor" in names:
        at = names.index("carburettor")
        tract = (*tract[:at], section, *tract[at + 1 :])
    elif tract:
        raise GeometryError(
            'which section of the tract is the carburettor? Name it: name = "carburettor" in [[intake.tract]]'
        )
    return _with_intake(record, intake, carburettor_bore_mm=new.bore_mm, tract=tract)


def _sections(record: EngineRecord, box: Box) -> tuple[str, ...]:
    return section_names(record.intake.tract) if record.intake else ()


def section_names(sections: tuple[Section, ...]) -> tuple[str, ...]:
    """Names of sections, by number where they have none."""
    return tuple(one.name or str(number) for number, one in enumerate(sections, start=1))


def lengthened(sections: tuple[Section, ...], name: str, by_mm: float) -> tuple[Section, ...]:
    """The sections with one longer or, minus, shorter; its ends keep their diameters."""
    at = section_names(sections).index(name)
    old = sections[at]
    if old.length_mm.value + by_mm < LEAST_LEFT_MM:
        left = f"leave {LEAST_LEFT_MM:g} mm of it, or take it out whole"
        raise GeometryError(f"{name} is {old.length_mm.value:g} mm long: {left}")
    new = old.model_copy(update={"length_mm": moved(old.length_mm, by_mm, old.spec("length_mm"))})
    return (*sections[:at], new, *sections[at + 1 :])


def room_to_shorten(sections: tuple[Section, ...], name: str) -> tuple[float, float]:
    """A section keeps LEAST_LEFT_MM of its length, and may get as long as it likes."""
    at = section_names(sections).index(name)
    return LEAST_LEFT_MM - sections[at].length_mm.value, inf


def _length(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    intake = _intake(record)
    return _with_intake(record, intake, tract=lengthened(intake.tract, step.at, step.amount or 0.0))


LEAST_LEFT_MM = 0.5
"""What a section must keep of its length: the least that a record accepts."""
_JET = Instruction("Start rich, look at the plug after one full-throttle pull, lean it in small steps.", "plug colour")
OPERATIONS = (
    Operation(
        key="fit reed",
        what="a reed block in place of the piston's edge: the pressure decides when the intake is open",
        stage=Stage.BREATHING,
        targets=lambda record, box: ("",) if record.intake and record.intake.control != "reed" else (),
        choices=lambda record, target, box: _names(box.reeds),
        change=_to_reed,
        tools=("welding or a bolted adapter", "file", "caliper"),
        skill="machine shop for the adapter",
        undo="take it off again: a piston port that was opened for it may then be too low",
        limits=("intake_open_above_crown_mm",),
        caution="Behind a reed the intake should always be open to the case: a window in the piston, or a short skirt.",
        instructions=(
            Instruction("Offer the block up; see that the petals clear crank and skirt.", "clearance of the petals"),
            Instruction("Open the intake and the skirt behind it as the plan's own steps say."),
            Instruction("Fit with new gaskets; test for leaks.", "case holds 0.3 bar for a minute"),
            _JET,
        ),
    ),
    Operation(
        key="fit other reed block",
        what="another reed block",
        stage=Stage.BREATHING,
        targets=lambda record, box: ("",) if record.intake and record.intake.control == "reed" else (),
        choices=lambda record, target, box: _names(box.reeds),
        change=_to_reed,
        tools=("spanner", "caliper"),
        skill="careful beginner",
        undo="fit the old one",
        reversible=True,
        instructions=(Instruction("Fit with new gaskets; test for leaks.", "petals rest flat"), _JET),
    ),
    Operation(
        key="fit other petals",
        what="other petals in the block that is fitted: stiffer ones for higher speed",
        stage=Stage.BREATHING,
        targets=lambda record, box: ("",) if record.intake and record.intake.reed else (),
        choices=lambda record, target, box: _names(box.petals),
        change=_petals,
        tools=("screwdriver", "micrometer"),
        skill="careful beginner",
        undo="fit the old ones",
        reversible=True,
        instructions=(
            Instruction("Screw them on flat, thread locked: a loose screw ends in the crank.", "petals rest flat"),
        ),
    ),
    Operation(
        key="fit other carburettor",
        what="another carburettor",
        stage=Stage.BREATHING,
        targets=lambda record, box: ("",) if record.intake else (),
        choices=lambda record, target, box: _names(box.carburettors),
        change=_carburettor,
        tools=("screwdriver", "jets"),
        skill="careful beginner",
        undo="fit the old one",
        reversible=True,
        caution="Another carburettor is another mixture: too lean seizes.",
        instructions=(Instruction("Fit without a leak; see that the slide opens fully and shuts freely."), _JET),
    ),
    Operation(
        key="change tract length",
        what="a longer (plus) or shorter (minus) piece of the intake tract: longer pulls lower",
        stage=Stage.BREATHING,
        targets=_sections,
        amount=Amount("longer_mm", "mm", -500.0, 500.0, "how much longer it gets; minus is shorter"),
        within=lambda record, target: room_to_shorten(_intake(record).tract, target),
        change=_length,
        tools=("saw and file, or another piece",),
        skill="careful beginner",
        undo="another piece",
        reversible=True,
        instructions=(Instruction("Keep it round and smooth inside, joints without a step.", "length"), _JET),
    ),
)
