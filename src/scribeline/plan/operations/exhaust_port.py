"""The exhaust: roof, floor, width, and ports beside it."""

from scribeline.engine import EXHAUST_ROLES, EngineRecord, Measured, Port, judged_again
from scribeline.errors import GeometryError
from scribeline.plan.box import Box
from scribeline.plan.description import Amount, Instruction, Operation, Stage
from scribeline.plan.edges import edge_depths_mm
from scribeline.plan.operations._ports import (
    INSTEAD_EDGE,
    INSTEAD_WIDTH,
    LOWER,
    RAISE,
    SQUARE,
    STUDS,
    TOOLS,
    WIDEN,
    by_hand,
    cut,
    ports_of,
    room_to_square,
    room_to_widen,
    square,
    widen,
    with_radius,
)
from scribeline.plan.steps import Step

CUT_PLUS_MINUS_MM = 0.2  # by hand; judgement, no source
_BY_HAND = "patient beginner with a steady hand"
_RINGS = ("exhaust_width_share_of_bore", "least_land_mm", "ring_ends", "window_clear_of_exhaust_mm", *STUDS)


def _main(record: EngineRecord) -> Port | None:
    return next((port for port in record.ports if port.role == "exhaust"), None)


def _beside(record: EngineRecord, box: Box) -> tuple[str, ...]:
    return ("",) if _main(record) is not None else ()


def free_name(record: EngineRecord, wanted: str) -> str:
    """A port name that is not taken yet."""
    names = {port.name for port in record.ports}
    return next(name for name in (wanted, *(f"{wanted} {n}" for n in range(2, 100))) if name not in names)


def roof_depth_mm(record: EngineRecord, name: str) -> float:
    """Depth of a port's roof below the crown at top dead centre, as the card has it."""
    value = edge_depths_mm(record).get((name, "roof"))
    if value is None:
        raise GeometryError(f"the roof of the {name} port is not known; measure it first")
    return value


def new_port(record: EngineRecord, step: Step, role: str, name: str, roof_mm: float, **further: object) -> EngineRecord:
    """A port cut where there was wall: `amount` wide, its roof at a depth below the crown at top dead centre."""
    assert step.amount is not None
    clock, height = step.detail("clock_deg"), step.detail("height_mm")
    assert clock is not None
    assert height is not None

    def cut_to(value: float) -> Measured:
        return Measured(value=value, plus_minus=CUT_PLUS_MINUS_MM)

    port = Port.model_validate(
        {
            "name": free_name(record, name),
            "role": role,
            "clock_deg": Measured(value=clock),
            "mirrored": clock % 180.0 != 0.0,
            "roof_from_crown_tdc_mm": cut_to(roof_mm),
            "floor_from_crown_tdc_mm": cut_to(roof_mm + height),
            "width_chord_mm": cut_to(step.amount),
            "roof_corner_radius_mm": cut_to(min(step.amount, height) / 4.0),
            "floor_corner_radius_mm": cut_to(min(step.amount, height) / 4.0),
            **further,
        }
    )
    return judged_again(record.model_copy(update={"ports": (*record.ports, port)}))


def _auxiliary(record: EngineRecord, step: Step, box: Box) -> EngineRecord:
    main, lower = _main(record), step.detail("below_exhaust_mm")
    assert main is not None
    assert lower is not None
    roof = roof_depth_mm(record, main.name) + lower
    return new_port(record, step, "auxiliary exhaust", "side exhaust", roof)


OPERATIONS = (
    Operation(
        key="raise exhaust roof",
        what="the exhaust opens earlier and stays open longer; more blowdown, less trapped",
        stage=Stage.PORTS,
        targets=ports_of(*EXHAUST_ROLES),
        amount=RAISE,
        change=cut("roof"),
        tools=TOOLS,
        skill=_BY_HAND,
        undo="not: a thinner base gasket lowers every port together",
        limits=(
            "blowdown_deg",
            "compression_ratio_trapped",
            "highest_roof_below_ring_mm",
            "least_land_mm",
            "window_clear_of_exhaust_mm",
        ),
        instead=INSTEAD_EDGE,
        backwards=("lower exhaust roof",),
        instructions=by_hand("the new roof", "roof from the deck; degrees where the crown meets it, both ways"),
    ),
    Operation(
        key="lower exhaust floor",
        what="take the exhaust's floor down to the crown at bottom dead centre: more area, no timing",
        stage=Stage.PORTS,
        targets=ports_of(*EXHAUST_ROLES),
        amount=LOWER,
        change=cut("floor"),
        tools=TOOLS,
        skill=_BY_HAND,
        undo="not: a floor under the skirt at top dead centre can only be covered by a longer skirt",
        limits=("exhaust_open_under_skirt_mm", "least_land_mm", "window_clear_of_exhaust_mm"),
        instead=INSTEAD_EDGE,
        backwards=("raise exhaust floor",),
        caution="A floor below the skirt's end at top dead centre joins exhaust and crankcase.",
        instructions=by_hand("the new floor", "floor from the deck"),
    ),
    Operation(
        key="square exhaust floor corners",
        what="cut the lower corners to a smaller radius: more area low down, no timing",
        stage=Stage.PORTS,
        targets=with_radius("floor", *EXHAUST_ROLES),
        amount=SQUARE,
        within=room_to_square("floor"),
        change=square("floor"),
        tools=TOOLS,
        skill=_BY_HAND,
        undo="not",
        limits=("ring_ends",),
        instead=INSTEAD_WIDTH,
        backwards=("round exhaust floor corners",),
        instructions=by_hand("the new corners", "radius on a rubbing"),
    ),
    Operation(
        key="widen exhaust",
        what="more area at the same timing",
        stage=Stage.PORTS,
        targets=ports_of(*EXHAUST_ROLES),
        amount=WIDEN,
        within=room_to_widen,
        change=widen,
        tools=TOOLS,
        skill=_BY_HAND,
        undo="not",
        limits=_RINGS,
        instead=INSTEAD_WIDTH,
        backwards=("narrow exhaust",),
        caution="A wide port without a bridge lets rings bulge into it: keep the roof an arc and the corners round.",
        instructions=by_hand("both new sides", "width straight across; land to the next port"),
    ),
    Operation(
        key="add auxiliary exhausts",
        what="cut a pair of small ports beside the exhaust, into its passage: area without a wider main port",
        stage=Stage.PORTS,
        targets=_beside,
        amount=Amount("wide_mm", "mm", 2.0, 30.0, "how wide each gets, straight across"),
        details=(
            Amount("below_exhaust_mm", "mm", -3.0, 15.0, "how far their roofs lie below the exhaust's"),
            Amount("clock_deg", "deg", 20.0, 100.0, "where the middle of each lies, exhaust side = 0"),
            Amount("height_mm", "mm", 2.0, 30.0, "how high each gets"),
        ),
        change=_auxiliary,
        tools=(*TOOLS, "right-angle handpiece"),
        skill="experienced hand",
        undo="not",
        limits=(*_RINGS, "blowdown_deg", "highest_roof_below_ring_mm", "exhaust_open_under_skirt_mm"),
        instead=INSTEAD_WIDTH,
        backwards=("close auxiliary exhausts", "remove auxiliary exhausts"),
        caution="Before the first hole find out how thick the wall is and what lies behind: water, studs, transfers.",
        instructions=(
            Instruction("Section a scrap barrel, or probe the passage with wire.", "wall between bore and passage"),
            *by_hand("the new ports", "roof from the deck; width; land to the exhaust and to the transfer"),
        ),
    ),
)
