"""The transfers: roofs as groups, with their angle, widths, and a port more at the back of the bore."""

from math import radians, tan

from scribeline.engine import TRANSFER_ROLES, EngineRecord, Measured, Port
from scribeline.errors import GeometryError
from scribeline.plan.box import Box
from scribeline.plan.description import Amount, Instruction, Operation, Stage
from scribeline.plan.edges import edge_moved
from scribeline.plan.operations._ports import (
    INSTEAD_EDGE,
    INSTEAD_WIDTH,
    RAISE,
    TOOLS,
    WIDEN,
    by_hand,
    named,
    room_to_widen,
    transfers,
    widen,
    with_ports,
)
from scribeline.plan.operations.exhaust_port import new_port, roof_depth_mm
from scribeline.plan.steps import Step

ROOF_ANGLE = "roof_angle_deg"
_ANGLE_PLUS_MINUS_DEG = 3.0  # by hand with a die grinder; judgement, no source
LEAST_DEEP_MM = 1.0
"""Depth from the bore below which an angle is no more than a broken edge. Judgement, no source."""
_LANDS = ("least_land_mm", "ring_ends")


def _raise(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    assert step.amount is not None
    ports = [edge_moved(record, port, "roof", step.amount) for port in named(record, step.at)]
    angle = step.detail(ROOF_ANGLE)
    if angle is not None:
        _metal_only_comes_off(ports, step.amount, angle)
        new = Measured(value=angle, plus_minus=_ANGLE_PLUS_MINUS_DEG)
        ports = [port.model_copy(update={ROOF_ANGLE: new}) for port in ports]
    return with_ports(record, ports)


def _metal_only_comes_off(ports: list[Port], up_mm: float, angle_deg: float) -> None:
    """A steeper roof sinks below the old one outwards: it can only be cut where the edge goes up for it.

    At `d` from the bore the old roof lies d · tan(old) below its edge, the new one d · tan(new) below an edge `up_mm`
    higher, so metal comes off as far as d = up / (tan(new) − tan(old)).
    """
    for port in ports:
        old = port.roof_angle_deg
        if old is None or angle_deg <= old.value:
            continue
        deep = up_mm / (tan(radians(angle_deg)) - tan(radians(old.value)))
        if deep < LEAST_DEEP_MM:
            raise GeometryError(
                f"the roof of {port.name} at {old.value:g} deg can be cut at {angle_deg:g} deg only {deep:.1f} mm deep "
                f"with its edge {up_mm:g} mm higher; metal does not grow back: raise it more, or choose a flatter angle"
            )


def _has_transfer(record: EngineRecord, box: Box) -> tuple[str, ...]:
    return ("",) if any(port.role in TRANSFER_ROLES for port in record.ports) else ()


def _boost(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    lower, angle = step.detail("below_transfers_mm"), step.detail(ROOF_ANGLE)
    assert lower is not None
    names = [port.name for port in record.ports if port.role in TRANSFER_ROLES]
    roof = min(roof_depth_mm(record, name) for name in names) + lower
    further = {} if angle is None else {ROOF_ANGLE: Measured(value=angle, plus_minus=_ANGLE_PLUS_MINUS_DEG)}
    return new_port(record, step, "boost", "boost", roof, **further)


OPERATIONS = (
    Operation(
        key="raise transfer roof",
        what="the transfers open earlier: more time to fill, less blowdown before them",
        stage=Stage.PORTS,
        targets=transfers,
        amount=RAISE,
        details=(
            Amount(
                ROOF_ANGLE,
                "deg",
                -30.0,
                80.0,
                "the angle the roof is finished at, upwards, where it changes",
                needed=False,
            ),
        ),
        change=_raise,
        tools=(*TOOLS, "right-angle handpiece"),
        skill="experienced hand: both sides must open together within half a degree",
        undo="not: a thinner base gasket lowers every port together",
        limits=("blowdown_deg", "highest_roof_below_ring_mm", "least_land_mm"),
        instead=INSTEAD_EDGE,
        backwards=("lower transfer roof",),
        caution="A roof cut on one side only steers the charge to the other: cut pairs in turn, a little at a time.",
        instructions=by_hand("the new roofs", "both roofs from the deck; degrees where each is met, left and right"),
    ),
    Operation(
        key="widen transfer",
        what="more transfer area at the same timing",
        stage=Stage.PORTS,
        targets=transfers,
        amount=WIDEN,
        within=room_to_widen,
        change=widen,
        tools=(*TOOLS, "right-angle handpiece"),
        skill="experienced hand",
        undo="not",
        limits=_LANDS,
        instead=INSTEAD_WIDTH,
        backwards=("narrow transfer",),
        instructions=by_hand("both new sides", "width straight across; land to the exhaust and to the next transfer"),
    ),
    Operation(
        key="open boost port",
        what="cut a boost port, or a narrow finger port, at the back of the bore: fed by a piston window or a groove",
        stage=Stage.PORTS,
        targets=_has_transfer,
        amount=Amount("wide_mm", "mm", 3.0, 40.0, "how wide it gets, straight across"),
        details=(
            Amount("below_transfers_mm", "mm", -5.0, 15.0, "how far its roof lies below the highest transfer's"),
            Amount("clock_deg", "deg", 120.0, 240.0, "where its middle lies, exhaust side = 0", usual=180.0),
            Amount("height_mm", "mm", 2.0, 30.0, "how high it gets"),
            Amount(ROOF_ANGLE, "deg", 0.0, 80.0, "the angle its roof points upwards", usual=45.0),
        ),
        change=_boost,
        tools=(*TOOLS, "right-angle handpiece"),
        skill="experienced hand",
        undo="not",
        limits=(*_LANDS, "blowdown_deg", "highest_roof_below_ring_mm"),
        instead=INSTEAD_WIDTH,
        backwards=("close boost port",),
        caution="It needs a way to breathe: a window in the piston, or a groove down to the crankcase or the reed.",
        instructions=(
            Instruction("Probe what lies behind the wall: the intake passage, water, a stud.", "wall thickness"),
            *by_hand("the new port", "roof from the deck; width; land to both neighbours"),
        ),
    ),
)
