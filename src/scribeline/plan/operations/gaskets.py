"""Gaskets: another stack under the barrel or under the head, from what is at hand, or one sheet fewer."""

from collections import Counter
from itertools import combinations_with_replacement

from scribeline.engine import EngineRecord, GasketSheet
from scribeline.errors import GeometryError
from scribeline.geometry import refit
from scribeline.plan.box import Box
from scribeline.plan.description import Instruction, Operation, Stage
from scribeline.plan.steps import Step

NONE = "no gasket"
JOIN = " + "
MOST_SHEETS = 3  # judgement: a higher stack creeps and leaks; a spacer is one sheet


def at_hand(record: EngineRecord, stack: str, box: Box) -> dict[str, tuple[GasketSheet, int]]:
    """Every sheet that can go into a stack by name, and how many of it: those fitted, then those of the box."""
    fitted = {f"fitted {number}": (sheet, 1) for number, sheet in enumerate(getattr(record.gaskets, stack), start=1)}
    return fitted | {one.name: (one.sheet(), one.count) for one in box.gaskets if one.fits in (stack, "both")}


def sheets_of(record: EngineRecord, stack: str, choice: str, box: Box) -> tuple[GasketSheet, ...]:
    """The sheets that a choice such as "fitted 1 + thin copper" names; GeometryError where one is not at hand."""
    if choice == NONE:
        return ()
    there = at_hand(record, stack, box)
    names = choice.split(JOIN)
    for name, count in Counter(names).items():
        if name not in there or there[name][1] < count:
            known = ", ".join(f"{count} of {name}" for name, (_, count) in there.items()) or "nothing"
            raise GeometryError(f"{count} of {name} is not at hand; at hand for the {stack}: {known}")
    return tuple(there[name][0] for name in names)


def stacks(record: EngineRecord, stack: str, box: Box) -> tuple[str, ...]:
    """Every stack of up to MOST_SHEETS sheets that is at hand, as choices; the one fitted among them."""
    there = at_hand(record, stack, box)
    found = [NONE]
    for size in range(1, MOST_SHEETS + 1):
        for names in combinations_with_replacement(there, size):
            if all(there[name][1] >= count for name, count in Counter(names).items()):
                found.append(JOIN.join(names))
    return tuple(found)


def _swap_base(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    return refit.change_base_gaskets(record, sheets_of(record, "base", step.choice, box))


def _swap_head(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    return refit.change_head_gaskets(record, sheets_of(record, "head", step.choice, box))


def _fitted(record: EngineRecord, box: Box) -> tuple[str, ...]:
    return tuple(f"fitted {number}" for number in range(1, len(record.gaskets.base) + 1))


def _remove(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    out = int(step.at.removeprefix("fitted ")) - 1
    left = tuple(sheet for number, sheet in enumerate(record.gaskets.base) if number != out)
    return refit.change_base_gaskets(record, left)


_SQUISH = ("squish_gap_min_mm", "squish_gap_mm", "squish_velocity_max_m_s", "compression_ratio_trapped")
# The barrel moves, and every port with it: up to the ring, down to the skirt's end and the crown.
_BASE_LIMITS = (
    *_SQUISH, "blowdown_deg", "highest_roof_below_ring_mm", "intake_open_above_crown_mm", "exhaust_open_under_skirt_mm",
    "ring_ends", "window_clear_of_exhaust_mm",
)  # fmt: skip
_TIGHTEN = "Fit it dry and clean, tighten crosswise in three rounds to the maker's torque."
_SOLDER = "squish by solder at four places, then compare with the prediction"
OPERATIONS = (
    Operation(
        key="swap base gasket",
        what="fit another stack of base gaskets or a spacer: the whole barrel moves, and every port with it",
        stage=Stage.DECK,
        targets=lambda record, box: ("",),
        choices=lambda record, target, box: stacks(record, "base", box),
        change=_swap_base,
        tools=("spanner or torque wrench", "micrometer", "solder and caliper"),
        skill="careful beginner",
        undo="put the old stack back; a crushed sheet is thinner than it was, so measure it again",
        reversible=True,
        limits=_BASE_LIMITS,
        instructions=(
            Instruction("Take head and barrel off, clean both faces without scratching them."),
            Instruction("Measure every sheet that goes in, where the face will press.", "thickness of each sheet"),
            Instruction(_TIGHTEN, _SOLDER),
            Instruction(
                "Turn the crank two full turns by hand before anything else.", "deck clearance and one port height"
            ),
        ),
    ),
    Operation(
        key="remove base gasket",
        what="leave one sheet of the base stack out: the barrel comes down by its thickness",
        stage=Stage.DECK,
        targets=_fitted,
        change=_remove,
        tools=("spanner or torque wrench", "solder and caliper"),
        skill="careful beginner",
        undo="put the sheet back",
        reversible=True,
        limits=_BASE_LIMITS,
        instructions=(
            Instruction("Take head and barrel off and take the sheet out; keep it flat and dry."),
            Instruction("With no sheet left, seal the joint with what the maker allows for bare faces."),
            Instruction(_TIGHTEN, _SOLDER),
            Instruction(
                "Turn the crank two full turns by hand before anything else.", "deck clearance and one port height"
            ),
        ),
    ),
    Operation(
        key="swap head gasket",
        what="fit another stack of head gaskets: squish and compression change, no port moves",
        stage=Stage.DECK,
        targets=lambda record, box: ("",),
        choices=lambda record, target, box: stacks(record, "head", box),
        change=_swap_head,
        tools=("spanner or torque wrench", "micrometer", "solder and caliper"),
        skill="careful beginner",
        undo="put the old stack back; measure it again first",
        reversible=True,
        limits=_SQUISH,
        instructions=(
            Instruction("Take the head off, clean both faces without scratching them."),
            Instruction("Measure every sheet that goes in, where the face will press.", "thickness of each sheet"),
            Instruction(_TIGHTEN, _SOLDER),
        ),
    ),
)
