"""The exhaust pipe: one section longer, shorter or another, or the whole pipe from what is at hand."""

from scribeline.engine import EngineRecord, judged_again
from scribeline.engine.breathing import Exhaust, Section
from scribeline.plan.box import Box
from scribeline.plan.description import Amount, Instruction, Operation, Stage
from scribeline.plan.operations.tract import lengthened, room_to_shorten, section_names
from scribeline.plan.steps import Step

_LIMITS = ("stinger_share_of_header",)


def _sections(record: EngineRecord, box: Box) -> tuple[str, ...]:
    return section_names(record.exhaust.sections) if record.exhaust else ()


def _with(record: EngineRecord, sections: tuple[Section, ...]) -> EngineRecord:
    return judged_again(record.model_copy(update={"exhaust": Exhaust(sections=sections)}))


def _old(record: EngineRecord) -> tuple[Section, ...]:
    assert record.exhaust is not None
    return record.exhaust.sections


def _length(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    return _with(record, lengthened(_old(record), step.at, step.amount or 0.0))


def _section(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    new = next(one for one in box.sections if one.name == step.choice)
    old = _old(record)
    at = section_names(old).index(step.at)
    fields = {key: getattr(new, key) for key in Section.model_fields} | {"name": old[at].name}
    return _with(record, (*old[:at], Section.model_validate(fields), *old[at + 1 :]))


def _whole(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    return _with(record, next(one for one in box.pipes if one.name == step.choice).sections)


_FIT = Instruction(
    "Fit without a leak at the port, hang it so that nothing bears on the flange.", "no soot at the joint"
)
_PLUG = Instruction("Start rich, look at the plug after one full-throttle pull.", "plug colour")
_HOT = "Another pipe is another mixture and another heat: begin rich, and never with a smaller stinger than the limit."
OPERATIONS = (
    Operation(
        key="change pipe length",
        what="one section of the pipe longer (plus) or shorter (minus): shorter works at higher speed",
        stage=Stage.BREATHING,
        targets=_sections,
        amount=Amount("longer_mm", "mm", -800.0, 800.0, "how much longer it gets; minus is shorter"),
        within=lambda record, target: room_to_shorten(_old(record), target),
        change=_length,
        tools=("saw, file and a sleeve, or welding",),
        skill="careful beginner with a sleeve; a welder for cones",
        undo="a sleeve, or the piece welded in again",
        reversible=True,
        limits=_LIMITS,
        caution=_HOT,
        instructions=(
            Instruction("Mark the cut all round, square to the middle line.", "length along the middle line"),
            Instruction("Cut, dress the edge inside, fit the sleeve gas-tight.", "length along the middle line"),
            _FIT,
            _PLUG,
        ),
    ),
    Operation(
        key="swap pipe section",
        what="another section from what is at hand in place of one of the pipe's",
        stage=Stage.BREATHING,
        targets=_sections,
        choices=lambda record, target, box: tuple(one.name for one in box.sections),
        change=_section,
        tools=("welding, or a sleeve and clamps",),
        skill="welder",
        undo="weld the old one in again",
        reversible=True,
        limits=_LIMITS,
        caution=_HOT,
        instructions=(_FIT, _PLUG),
    ),
    Operation(
        key="swap pipe",
        what="another pipe as a whole, from what is at hand",
        stage=Stage.BREATHING,
        targets=lambda record, box: ("",),
        choices=lambda record, target, box: tuple(one.name for one in box.pipes),
        change=_whole,
        tools=("spanner", "springs"),
        skill="careful beginner",
        undo="fit the old one",
        reversible=True,
        limits=_LIMITS,
        caution=_HOT,
        instructions=(_FIT, _PLUG),
    ),
)
