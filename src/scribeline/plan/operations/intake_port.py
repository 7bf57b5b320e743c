"""The intake port of a piston-port engine: floor, roof and width."""

from scribeline.plan.description import Operation, Stage
from scribeline.plan.operations._ports import (
    INSTEAD_EDGE,
    INSTEAD_WIDTH,
    LOWER,
    RAISE,
    STUDS,
    TOOLS,
    WIDEN,
    by_hand,
    cut,
    ports_of,
    room_to_widen,
    widen,
)

_BY_HAND = "patient beginner with a steady hand"
OPERATIONS = (
    Operation(
        key="lower intake floor",
        what="the intake opens earlier and closes later: more at high speed, spit-back at low",
        stage=Stage.PORTS,
        targets=ports_of("intake"),
        amount=LOWER,
        change=cut("floor"),
        tools=TOOLS,
        skill=_BY_HAND,
        undo="a floor that came out too low can be covered by going to a reed; else a lower barrel, or a longer skirt",
        instead="trim less off the skirt, a thinner base gasket, or another cylinder",
        instructions=by_hand("the new floor", "floor from the deck; degrees where the skirt leaves it, both ways"),
    ),
    Operation(
        key="raise intake roof",
        what="more intake area at the same timing, as long as the crown covers it at bottom dead centre",
        stage=Stage.PORTS,
        targets=ports_of("intake"),
        amount=RAISE,
        change=cut("roof"),
        tools=TOOLS,
        skill=_BY_HAND,
        undo="not",
        limits=("intake_open_above_crown_mm", "ring_ends"),
        instead=INSTEAD_EDGE,
        caution="A roof above the crown at bottom dead centre joins intake and cylinder, and a ring may reach it.",
        instructions=by_hand("the new roof", "roof from the deck; crown at bottom dead centre against the roof"),
    ),
    Operation(
        key="widen intake",
        what="more intake area at the same timing",
        stage=Stage.PORTS,
        targets=ports_of("intake"),
        amount=WIDEN,
        within=room_to_widen,
        change=widen,
        tools=TOOLS,
        skill=_BY_HAND,
        undo="not",
        limits=("least_land_mm", "ring_ends", *STUDS),
        instead=INSTEAD_WIDTH,
        instructions=by_hand("both new sides", "width straight across; land to the transfers"),
    ),
)
