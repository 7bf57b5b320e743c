"""What can be added to a plan, by the groups of the job, and how a step begins: at an amount that changes nothing."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import ceil, floor
from typing import Any

from scribeline.engine import EngineRecord
from scribeline.plan.box import Box
from scribeline.plan.carry_out import possible_for
from scribeline.plan.description import Amount, Operation, Possible, Stage
from scribeline.plan.operations import BY_KEY, all_operations
from scribeline.plan.operations._ports import ALL_TRANSFERS
from scribeline.plan.operations.gaskets import NONE
from scribeline.plan.search_space import REACHES
from scribeline.plan.stacks import Side, fitted
from scribeline.plan.steps import Step
from scribeline.tasks.length_steps import round_step
from scribeline.tasks.plan_in_hand import step_document
from scribeline.units import MM_PER_INCH, Units, in_inches, length, unit_of

# Steps of a slider and of its two buttons by the unit, where a search has none of its own; judgement: what a hand or a
# scale can tell apart.
_STEP: Mapping[str, float] = {"mm": 0.1, "deg": 0.5, "cc": 0.1, "ratio": 0.1}
_STEP_OF: Mapping[str, float] = {"change fuel": 1.0, "change oil in petrol": 1.0, "change gearing": 0.05,
                                 "change pipe length": 1.0, "change tract length": 1.0}  # fmt: skip
# How far a slider goes where the whole range is far more than anybody means to do; judgement. A typed number may lie
# anywhere in the whole range.
_REACH: Mapping[str, tuple[float, float]] = {
    "recut squish band angle": (-5.0, 30.0), "sink squish band": (0.0, 1.0), "narrow squish band": (0.0, 6.0),
    "open bowl": (0.0, 5.0), "square exhaust floor corners": (0.0, 10.0), "raise intake roof": (0.0, 3.0),
    "add auxiliary exhausts": (2.0, 16.0), "open boost port": (3.0, 24.0), "cut piston window": (3.0, 40.0),
    "change mixture": (10.0, 16.0), "change fuel": (80.0, 110.0), "change oil in petrol": (15.0, 100.0),
}  # fmt: skip
_FIRST = (ALL_TRANSFERS, "intake side")
"""Where a hand would begin, of several targets."""
# A new port or window begins as a small one in a common place: judgement, to be moved by whoever draws it.
_BEGINS: Mapping[str, Mapping[str, float]] = {
    "add auxiliary exhausts": {"below_exhaust_mm": 1.0, "clock_deg": 55.0, "height_mm": 8.0},
    "open boost port": {"below_transfers_mm": 0.0, "height_mm": 10.0},
    "cut piston window": {"clock_deg": 180.0, "top_from_crown_mm": 25.0, "bottom_from_crown_mm": 37.0},
    "narrow squish band": {"depth_mm": 3.0},
}


@dataclass(frozen=True)
class Slider:
    """Where a slider goes and in which steps; typed numbers may lie anywhere from `least` to `most`."""

    low: float
    high: float
    step: float
    least: float
    most: float
    unit: str


@dataclass(frozen=True)
class Addable:
    """One operation that may be added: where it can be done, or why it cannot be done to this engine."""

    operation: Operation
    targets: tuple[str, ...]
    why_not: str = ""


@dataclass(frozen=True)
class Group:
    """One group of the job with its operations."""

    stage: Stage
    words: str
    operations: tuple[Addable, ...]


def groups_of(record: EngineRecord, box: Box) -> tuple[Group, ...]:
    """Every operation by its group, in the order of the work, with where it can be done on this engine."""
    possible: dict[str, list[Possible]] = {}
    for one in possible_for(record, box):
        possible.setdefault(one.operation.key, []).append(one)
    groups = []
    for stage in Stage:
        operations = []
        for operation in all_operations():
            if operation.stage is stage:
                targets = tuple(one.target for one in possible.get(operation.key, ()))
                operations.append(Addable(operation, targets, "" if targets else _why_not(operation)))
        groups.append(Group(stage, stage.words[0].upper() + stage.words[1:], tuple(operations)))
    return tuple(groups)


def _why_not(operation: Operation) -> str:
    if operation.choices is not None:
        return "nothing for it among the parts at hand, or this engine has no place for it"
    return "this engine has no place for it, or what it needs is not measured"


def beginning(record: EngineRecord, box: Box, do: str, at: str = "") -> dict[str, Any]:
    """A new step as it stands in a document, at an amount that changes nothing where there is one."""
    operation = BY_KEY[do]
    targets = tuple(one.target for one in possible_for(record, box) if one.operation.key == do)
    first = next((one for one in _FIRST if one in targets), (targets or ("",))[0])
    target = at if at in targets else first
    amount = operation.amount_on(record, target) if target in targets else operation.amount
    choice = ""
    if operation.choices is not None:
        choices = operation.choices(record, target, box)
        choice = next((one for one in (_as_fitted(record, do), *choices) if one in choices), "")
    details = {one.key: one.usual for one in operation.details if one.usual is not None}
    details |= _BEGINS.get(do, {})
    return step_document(
        Step(do, target, None if amount is None else _begin(record, do, amount), choice, tuple(sorted(details.items())))
    )


def _as_fitted(record: EngineRecord, do: str) -> str:
    sides: dict[str, Side] = {"swap base gasket": "base", "swap head gasket": "head"}
    return " + ".join(fitted(record, sides[do])) or NONE if do in sides else ""


def _begin(record: EngineRecord, do: str, amount: Amount) -> float:
    now = {
        "change mixture": record.fuel.air_per_fuel, "change fuel": record.fuel.octane_ron,
        "change oil in petrol": record.fuel.petrol_per_oil, "change gearing": record.drivetrain.final_drive_ratio,
        "recut squish band angle": record.head.band_angle_deg,
    }  # fmt: skip
    usual = {"change mixture": 12.8, "change fuel": 95.0, "change oil in petrol": 30.0, "recut squish band angle": 0.0,
             "add auxiliary exhausts": 6.0, "open boost port": 10.0, "cut piston window": 14.0}  # fmt: skip
    measured = now.get(do)
    value = measured.value if measured is not None else usual.get(do, 0.0)
    return min(max(value, amount.low), amount.high)


def amount_shown(value: float, unit: str, units: Units = "mm") -> str:
    """An amount as it stands in a field, in as many digits as give it back.

    >>> amount_shown(1.2, "mm"), amount_shown(1.2, "mm", "inch")
    ('1.2', '0.0472 in')
    """
    return length(value, units, 3) if unit == "mm" and units == "inch" else f"{round(value, 4):.10g}"


_IN_WORDS = {"deg": "degrees", "cc": "cc"}


def amount_question(amount: Amount) -> str:
    """What an amount is, without its unit: that is said where the number stands.

    >>> amount_question(Amount("off_mm", "mm", 0.0, 3.0, "how much comes off, in mm"))
    'how much comes off'
    """
    return amount.what.removesuffix(f", in {amount.unit}")


def amount_name(do: str, amount: Amount, units: Units = "mm") -> str:
    """What a control of an amount is called for those who do not see what stands around it.

    >>> amount_name("face deck", Amount("off_mm", "mm", 0.0, 3.0, "how much comes off, in mm"), "inch")
    'face deck, how much comes off, in inches'
    """
    unit, _ = amount_unit(amount, units)
    return f"{do}, {amount_question(amount)}" + (f", in {unit}" if unit else "")


def amount_unit(amount: Amount, units: Units = "mm") -> tuple[str, float]:
    """The unit that an amount is read out in, and how many of its own are one of it: a slider's numbers are in mm.

    >>> amount_unit(Amount("off_mm", "mm", 0.0, 3.0, "how much comes off, in mm"), "inch")
    ('inches', 25.4)
    """
    if amount.unit == "mm":
        return unit_of(units, spelled=True), 1.0 if units == "mm" else float(MM_PER_INCH)
    return _IN_WORDS.get(amount.unit, ""), 1.0


def range_words(slider: Slider, accepted: str, units: Units = "mm") -> str:
    """What may be typed, and in which steps the slider goes."""
    inches = slider.unit == "mm" and units == "inch"
    step = f"{slider.step / float(MM_PER_INCH):g} in" if inches else f"{slider.step:g}"
    return f"Accepted: {in_inches(accepted, units)}. Slider in steps of {step}."


def in_whole(slider: Slider, units: Units = "mm") -> Slider:
    """The same slider for whoever reads in these units: in whole steps of inches, about as fine, and as far.

    >>> (one := in_whole(Slider(0.0, 2.0, 0.1, 0.0, 10.0, "mm"), "inch")).step, one.high
    (0.127, 2.032)
    """
    if units == "mm" or slider.unit != "mm":
        return slider
    step = round_step(slider.step / float(MM_PER_INCH)) * float(MM_PER_INCH)
    low, high = floor(slider.low / step + 1e-9) * step, ceil(slider.high / step - 1e-9) * step
    return replace(slider, low=round(low, 6), high=round(high, 6), step=round(step, 6))


def slider_of(operation: Operation, amount: Amount, value: float | None) -> Slider:
    """The slider of a step's amount: as far as anybody means to go, further where the amount itself is further."""
    reach = REACHES.get(operation.key)
    step = _STEP_OF.get(operation.key) or (reach.step if reach and reach.step else _STEP[amount.unit])
    if amount.unit == "mm" and operation.stage is Stage.PORTS:
        step = min(step, 0.1)
    low, high = _REACH.get(operation.key, (amount.low, amount.high))
    if operation.key == "change gearing" and value:
        low, high = round(0.7 * value, 1), round(1.4 * value, 1)
    if reach and reach.most > reach.low:
        low, high = reach.low, reach.most
    low, high = max(low, amount.low), min(high, amount.high)
    if value is not None and amount.low <= value <= amount.high:
        low, high = min(low, value), max(high, value)
    whole = floor(low / step + 1e-9) * step, ceil(high / step - 1e-9) * step
    return Slider(round(whole[0], 6), round(max(whole[1], whole[0] + step), 6), step, amount.low, amount.high,
                  amount.unit)  # fmt: skip


def detail_slider(amount: Amount) -> Slider:
    """The same for a further number of a step."""
    step = _STEP[amount.unit]
    return Slider(amount.low, amount.high, 0.5 if amount.unit == "mm" else step, amount.low, amount.high, amount.unit)
