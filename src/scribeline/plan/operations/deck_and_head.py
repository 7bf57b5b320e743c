"""The barrel's two faces and the head's: how deep the piston comes, and what moves with it."""

from collections.abc import Callable

from scribeline.engine import EngineRecord
from scribeline.geometry import refit
from scribeline.plan.description import Amount, Change, Instruction, Operation, Stage

_OFF = Amount("off_mm", "mm", 0.0, 3.0, "how much comes off, in mm", metal=True)
_SQUISH = ("squish_gap_min_mm", "squish_gap_mm", "squish_velocity_max_m_s", "compression_ratio_trapped")
_PLATE = "Tape wet abrasive paper (240, then 400) on thick glass, oil it, draw a grid on the face with a felt pen."
_STROKES = "Rub in figures of eight with the weight of your hands only, turning the part a quarter every ten strokes."


def _of(change: Callable[[EngineRecord, float], EngineRecord]) -> Change:
    return lambda record, step, box: change(record, step.amount or 0.0)


def _instructions(face: str, measure: str) -> tuple[Instruction, ...]:
    return (
        Instruction(f"Strip the part, clean the {face}, measure its height at four places.", "height at four places"),
        Instruction(_PLATE),
        Instruction(_STROKES, f"{measure}, every 0.05 mm"),
        Instruction(
            "Stop at the stop line, short of the target; wash, fit, tighten.", "squish by solder at four places"
        ),
        Instruction("Take the last of it off only now.", "height at four places: the same all round within 0.03 mm"),
    )


def _head_range(record: EngineRecord, target: str) -> tuple[float, float]:
    """Past its own recess the band must go into the gasket's hole, or into the bore where it is narrower."""
    bore, outer, recess = record.cylinder.bore_mm.value, record.head.squish_outer_mm, record.head.band_recess_mm
    if recess is None or (outer is not None and outer.value < bore - 0.2):
        return 0.0, _OFF.high
    return 0.0, max(0.0, recess.value + refit.compressed_mm(record.gaskets.head))


OPERATIONS = (
    Operation(
        key="deck barrel top",
        what="take metal off the barrel's top: squish and chamber shrink, no port moves past the crown",
        stage=Stage.DECK,
        targets=lambda record, box: ("",),
        amount=_OFF,
        change=_of(refit.deck_barrel_top),
        tools=("glass plate and abrasive paper, or a lathe", "caliper or depth gauge", "solder"),
        skill="patient beginner on glass; a machine shop for more than 0.3 mm",
        undo="a thicker head gasket brings squish back; the port heights from the deck stay shorter",
        limits=_SQUISH,
        instead="a thicker head gasket",
        backwards=("raise barrel top", "build up barrel top"),
        caution="Every height measured from the deck is shorter afterwards: re-measure before any port line is drawn.",
        instructions=_instructions("top face", "barrel height"),
    ),
    Operation(
        key="deck barrel base",
        what="take metal off the barrel's foot: the barrel comes down, every port opens later, an intake port earlier",
        stage=Stage.DECK,
        targets=lambda record, box: ("",),
        amount=_OFF,
        change=_of(refit.deck_barrel_base),
        tools=("lathe or mill with a mandrel", "depth gauge", "solder"),
        skill="machine shop",
        undo="a thicker base gasket or a spacer lifts the barrel again",
        limits=(
            *_SQUISH,
            "blowdown_deg",
            "exhaust_open_under_skirt_mm",
            "intake_open_above_crown_mm",
            "ring_ends",
            "window_clear_of_exhaust_mm",
        ),
        instead="a thicker base gasket or a spacer",
        backwards=("raise barrel base", "build up barrel base"),
        instructions=_instructions("foot", "barrel height"),
    ),
    Operation(
        key="face head",
        what="take metal off the head's gasket face and leave the band: head and band come down, no port moves",
        stage=Stage.DECK,
        targets=lambda record, box: ("",),
        amount=_OFF,
        within=_head_range,
        change=_of(refit.face_head),
        tools=("lathe; glass plate only where the band lies deeper than the face", "depth gauge", "burette", "solder"),
        skill="patient beginner on glass; a machine shop where the band must stay standing",
        undo="a thicker head gasket",
        limits=_SQUISH,
        instead="a thicker head gasket, or another head",
        backwards=("build up head",),
        instructions=_instructions("gasket face", "band recess from the face"),
    ),
)
